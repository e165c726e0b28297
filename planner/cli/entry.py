"""Where the command begins and ends: signals are handled before anything that takes its time is loaded."""

from __future__ import annotations

# What stands under the library's `signal`, which makes its classes first: a signal may come meanwhile.
import _signal
import os
import sys

# As `typing` has it, which takes longer to load than all the rest here.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from types import FrameType
    from typing import NoReturn

INTERRUPTED = 130


def main() -> NoReturn:
    """Run the command line; threads that a solver leaves at work do not outlive it."""
    for sort in (_signal.SIGINT, _signal.SIGTERM):
        _signal.signal(sort, _leave)
    from planner.cli import signals

    signals.install()
    # Here, for this loads the command line's library.
    from planner.cli import group

    signals.watch()
    code = group.run()
    for stream in (sys.stdout, sys.stderr):
        group.flush(stream)
    signals.end(code)


def _leave(number: int, frame: FrameType | None) -> NoReturn:
    """End a command that has not begun."""
    del number, frame
    try:
        os.write(2, b"interrupted; nothing was written\n")
    finally:
        os._exit(INTERRUPTED)
