"""What lies round the screen: the terminal that may go away, and the progress kept beside the file."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.moves.tasks.progress import Progress


def heed_hangup(put_away: Callable[[], None]) -> None:
    """Put things away when the terminal goes, and end: there is nothing to draw on any more."""

    if not hasattr(signal, "SIGHUP"):
        return
    hangup = signal.SIGHUP

    def gone() -> None:
        put_away()
        os._exit(128 + hangup)

    # Only the main thread of a system whose loop hears signals can be told of it.
    with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
        asyncio.get_running_loop().add_signal_handler(hangup, gone)


def progress_beside(inventory: Path) -> Progress | None:
    """Read what is done of the moves, which stands beside the file; None where that cannot be used."""
    from planner.moves.tracking import progress_file

    try:
        return progress_file.read(progress_file.path_beside(inventory))
    except (OSError, progress_file.ProgressError):
        return None
