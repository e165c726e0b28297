"""The command ``stillroom``: one file a command, and the only part of the planner that prints.

Why so: a broken plan file and a plan that breaks a rule both end with 2; exit code 1 is kept for 'no plan
can exist'. 141 says that the reader of a pipe went away, as the shell itself would; 1 would mean something
else here.
"""

from planner.cli.entry import main

__all__ = ["main"]
