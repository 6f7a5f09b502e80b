"""`python -m troubleshoot`."""

from troubleshoot.cli import main

main()
