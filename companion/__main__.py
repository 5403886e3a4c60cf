"""`python -m companion` is the same as the command `companion`."""

from companion.cli import main

main()
