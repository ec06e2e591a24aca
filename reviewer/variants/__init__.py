"""One section varied: in other places, beside others, over what is not known, and to where its verdict flips."""
