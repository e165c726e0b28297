"""The command ``stillroom``: one file a command, and the only part of the planner that prints."""

from planner.cli.entry import main

__all__ = ["main"]
