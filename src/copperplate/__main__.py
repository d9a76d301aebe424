"""`python -m copperplate`: the same as the installed command."""

from copperplate.cli.main import main

main()
