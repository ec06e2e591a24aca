"""What to change in a section: remedies and their cost, how much is enough, where it holds, what is not known."""
