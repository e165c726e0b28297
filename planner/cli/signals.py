"""SIGINT and SIGTERM by one handler for the whole command: a solve stops with its best, all else just ends.

The handler never raises: an exception thrown into an import leaves half a module behind, and one thrown into
a callback of a library is lost. It imports next to nothing, so that it stands before anything else is loaded.

Why so: the handler stands before anything heavy is loaded (`cli.entry`), also where the parent ignores the
signal. While a solve runs it stops that, else it ends the command at once, worker and all; a file is put in
its place first. A worker that does not heed a stop is ended, and a library that keeps the main thread is
seen by a thread that reads the wakeup pipe. The first hundredths of a second belong to Python
itself. ``python -m tests.benchmarks.signals`` signals each command at random moments.
"""

from __future__ import annotations

import contextlib
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    import threading
    from types import FrameType

INTERRUPTED = 130
"""`ExitCode.INTERRUPTED`, written out because that module costs an import."""

SORTS = (signal.SIGINT, signal.SIGTERM)
DEAF_S = 1.0
"""Seconds that Python may take to call the handler; a library that does not return is left after that."""

LOOK_S = 0.05


class _Standing:
    """What a signal meets: the solve to stop, and whether a file is being put in its place."""

    def __init__(self) -> None:
        self.cancel: threading.Event | None = None
        self.is_stopped = False
        self.is_held = False
        self.is_waiting = False
        self.handled = 0
        self.written: list[str] = []
        self.before_leaving: list[Callable[[], None]] = []


_now = _Standing()


def install() -> None:
    """Handle both signals from here on, also where the parent ignores them."""
    for sort in SORTS:
        signal.signal(sort, _handle)


def _handle(number: int, frame: FrameType | None) -> None:
    del number, frame
    _now.handled += 1
    if _now.cancel is not None and not _now.is_stopped:
        _now.is_stopped = True
        _now.cancel.set()
    elif _now.is_held:
        _now.is_waiting = True
    else:
        leave()


def was_stopped() -> bool:
    """Say whether the person has stopped a solve of this command."""
    return _now.is_stopped


def before_leaving(end: Callable[[], None]) -> None:
    """Add what is called before the command is left at once; it takes no lock and does not wait."""
    _now.before_leaving.append(end)


def leave() -> NoReturn:
    """End the command now with 130, and what it started; say what it has written by then."""
    with contextlib.suppress(OSError, ValueError):
        wipe = "\r\x1b[K" if os.isatty(2) and os.environ.get("TERM") != "dumb" else ""
        os.write(2, f"{wipe}{last_words()}\n".encode("ascii", "backslashreplace"))
    end(INTERRUPTED)


def last_words() -> str:
    """Write what an interrupted command says."""
    names = ", ".join(name if name.isprintable() else ascii(name) for name in _now.written)
    return f"interrupted; {names} was written before" if names else "interrupted; nothing was written"


def end(code: int) -> NoReturn:
    """End the command with what it started; threads that are still at work in a solver are not waited for."""
    for finish in _now.before_leaving:
        with contextlib.suppress(Exception):
            finish()
    _end_children()
    os._exit(code)


def _end_children() -> None:
    """End the processes that this one has started, where the system lists them."""
    if not hasattr(signal, "SIGKILL"):
        return
    with contextlib.suppress(OSError):
        for task in os.listdir("/proc/self/task"):
            with open(f"/proc/self/task/{task}/children", encoding="ascii") as stream:
                for child in stream.read().split():
                    with contextlib.suppress(OSError):
                        os.kill(int(child), signal.SIGKILL)


@contextmanager
def stopping(cancel: threading.Event) -> Iterator[None]:
    """Let the first signal set an event; one that came to an earlier solve of the command sets it now."""
    if _now.is_stopped:
        cancel.set()
    _now.cancel = cancel
    try:
        yield
    finally:
        _now.cancel = None


@contextmanager
def held(name: str) -> Iterator[None]:
    """Keep signals waiting while a file is put in its place, which is then said to be written."""
    _now.is_held = True
    try:
        yield
        _now.written.append(name)
    finally:
        _now.is_held = False
        if _now.is_waiting:
            leave()


@contextmanager
def as_interrupts() -> Iterator[None]:
    """Let both signals raise KeyboardInterrupt, for a screen that has to put the terminal in order."""

    def interrupt(number: int, frame: FrameType | None) -> None:
        del number, frame
        os.kill(os.getpid(), signal.SIGINT)

    signal.set_wakeup_fd(-1)
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGTERM, interrupt)
    try:
        yield
    finally:
        install()


def watch() -> None:
    """Leave also where a library that runs in the main thread keeps Python from calling the handler."""
    import threading

    reading, writing = os.pipe()
    if hasattr(os, "set_blocking"):
        os.set_blocking(writing, False)
    signal.set_wakeup_fd(writing, warn_on_full_buffer=False)
    threading.Thread(target=_look, args=(reading,), name="signals", daemon=True).start()


def _look(reading: int) -> None:
    import time

    before = 0
    while os.read(reading, 64):
        until = time.monotonic() + DEAF_S
        while _now.handled == before and time.monotonic() < until:
            time.sleep(LOOK_S)
        if _now.handled == before:
            leave()
        before = _now.handled
