"""`python -m reviewer`."""

from reviewer.cli import main

main()
