"""``stillroom edit FILE``."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import click

from planner.cli.errors import RefusedError
from planner.cli.inputs import file_argument, open_inventory


@click.command("edit")
@file_argument
@click.option("--time", "time_s", default=60.0, type=click.FloatRange(min=0.1), help="Seconds a plan.  [60]")
def command(file: Path, time_s: float) -> None:
    """Edit FILE on the screen and see at once what each change does to noise, heat, money and moves.

    Needs a terminal; the other commands print all of it with --plain. Keys can be changed in a file that
    STILLROOM_KEYS names.
    """
    open_inventory(file)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise RefusedError("edit needs a terminal; 'stillroom plan --plain' prints a plan without one")
    # By name, because the planner must not depend on the screen.
    screen = importlib.import_module("tui.start")
    try:
        screen.run(file, time_s)
    except screen.StartError as error:
        raise RefusedError(str(error)) from None
