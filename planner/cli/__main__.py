"""``python -m planner.cli``: the command without an installed script."""

from planner.cli import main

main()
