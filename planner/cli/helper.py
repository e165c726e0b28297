"""The process that a command solves in, begun before the command is loaded, for it loads the solver too."""

from __future__ import annotations

import atexit

from planner.cli import signals
from planner.worker import Helper

SOLVING = ("plan", "why", "moves")
"""The commands that may make a plan."""

PATIENCE_S = 0.35
"""Seconds that it is given to answer a cancel, after which it is ended and what it told of is kept."""

HELPER = Helper(("planner.placement.worker",), PATIENCE_S)
atexit.register(HELPER.close)
signals.before_leaving(HELPER.kill)
