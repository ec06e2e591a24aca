"""Many sections at once: which files, under which policy, against which baseline, in how many processes."""
