"""Opens the terminal interface on a file."""

from __future__ import annotations

from pathlib import Path

from tui.app import Stillroom
from tui.keys import KeysError, keys_file, read_keys
from tui.session import Session
from tui.solving.processes import ApartAfterworker, ApartSolver, ApartWhy


class StartError(Exception):
    """The screen cannot be opened; says why."""


def run(path: Path, time_s: float = 60.0) -> Path | None:
    """Edit a file on the screen until the person leaves; gives the file that holds what was not saved.

    There is such a file only where the screen was taken away without leave. Raises InventoryError when the
    file cannot be used, StartError when the file of keys cannot.
    """
    session = Session.open(path)
    keys = own_keys()
    solver, afterworker, explainer = ApartSolver(), ApartAfterworker(), ApartWhy()
    try:
        solver.start()
        screen = Stillroom(session, solver, afterworker, explainer, keys, time_s)
        screen.run()
        return screen.rescued
    finally:
        solver.close()
        afterworker.close()
        explainer.close()


def own_keys() -> dict[str, str]:
    """Read the person's own keys; StartError says what is wrong with their file."""
    named = keys_file()
    try:
        return read_keys(named) if named is not None else {}
    except KeysError as error:
        raise StartError(str(error)) from None


def rescue_words(rescued: Path) -> str:
    """Say where to find what was not saved."""
    return f"the screen went away; what was not saved is in {rescued}"
