"""Opens the terminal interface on a file."""

from __future__ import annotations

from pathlib import Path

from tui.apart import ApartAfterworker, ApartSolver
from tui.app import Stillroom
from tui.keys import KeysError, keys_file, read_keys
from tui.session import Session


class StartError(Exception):
    """The screen cannot be opened; says why."""


def run(path: Path, time_s: float = 60.0) -> None:
    """Edit a file on the screen until the person leaves.

    Raises InventoryError when the file cannot be used, StartError when the file of keys cannot.
    """
    session = Session.open(path)
    keys = _keys()
    solver, afterworker = ApartSolver(), ApartAfterworker()
    try:
        solver.ready()
        Stillroom(session, solver, afterworker, keys, time_s).run()
    finally:
        solver.close()
        afterworker.close()


def _keys() -> dict[str, str]:
    named = keys_file()
    try:
        return read_keys(named) if named is not None else {}
    except KeysError as error:
        raise StartError(str(error)) from None
