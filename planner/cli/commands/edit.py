"""``stillroom edit FILE``."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import click

from planner.cli import output, signals
from planner.cli.errors import RefusedError
from planner.cli.group import say
from planner.cli.inputs import file_argument, open_inventory, refusal
from planner.inventory import InventoryError


@click.command("edit")
@file_argument
@click.option("--time", "time_s", default=60.0, type=click.FloatRange(min=0.1), help="Seconds a plan.  [60]")
@click.option("--web", is_flag=True, help="Show the screen in a browser on this machine.")
@click.option("--port", type=click.IntRange(0, 65535), help="Port for --web.  [one that is free]")
def command(file: Path, time_s: float, web: bool, port: int | None) -> None:
    """Edit FILE on the screen and see at once what each change does to noise, heat, money and moves.

    Needs a terminal; the other commands print all of it with --plain. With --web it prints an address for a
    browser on this machine, and serves it until Ctrl-C. Keys can be changed in a file that STILLROOM_KEYS
    names.
    """
    if port is not None and not web:
        raise RefusedError("--port goes with --web")
    if web:
        open_inventory(file)
        _in_browser(file, time_s, port or 0)
    else:
        _in_terminal(file, time_s)


def _in_terminal(file: Path, time_s: float) -> None:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise RefusedError("edit needs a terminal; 'stillroom plan --plain' prints a plan without one")
    # By name, because the planner must not depend on the screen.
    screen = importlib.import_module("tui.start")
    try:
        with signals.as_interrupts():
            rescued = screen.run(file, time_s)
    except InventoryError as error:
        raise refusal(error) from None
    except screen.StartError as error:
        raise RefusedError(str(error)) from None
    if rescued is not None:
        say(screen.rescue_words(rescued))


def _in_browser(file: Path, time_s: float, port: int) -> None:
    try:
        server = importlib.import_module("tui.browser.server")
    except ModuleNotFoundError as error:
        raise RefusedError(
            f"--web needs the extra 'web' ({error.name} is missing): pip install 'stillroom[web]'"
        ) from None

    def tell(address: str) -> None:
        output.write_text(f"{address}\n")
        say("open this address in a browser on this machine; Ctrl-C ends it")

    try:
        with signals.as_interrupts():
            server.serve(file, time_s, port, tell)
    except importlib.import_module("tui.start").StartError as error:
        raise RefusedError(str(error)) from None
    except OSError as error:
        raise RefusedError(f"--port {port} cannot be served: {error.strerror or error}") from None
