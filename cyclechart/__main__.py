"""So that ``python -m cyclechart`` is the command."""

from cyclechart.cli import main

main()
