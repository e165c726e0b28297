"""Work that tests ask a helper process to do."""

from __future__ import annotations

import os
import resource
import signal
import threading
import time
from collections.abc import Callable
from pathlib import Path

from planner.domain.site import Site
from planner.placement import Options, Progress, Result, solve

ROOM = 4 * 1024 * 1024
"""Bytes that are left to a solver that is to run out of memory."""


class WorkError(ValueError):
    """What work raises that fails."""


class StrangeError(Exception):
    """What cannot be sent: it cannot be made again from its words."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(one + two)


def doubled(number: int, cancel: threading.Event, tell: Callable[[int], None]) -> int:
    """Give twice a number, and tell it on the way."""
    del cancel
    tell(number)
    return 2 * number


def failing(cancel: threading.Event, tell: Callable[[int], None]) -> int:
    """Fail."""
    raise WorkError("no such number")


def failing_strangely(cancel: threading.Event, tell: Callable[[int], None]) -> int:
    """Fail with what cannot be sent."""
    raise StrangeError("no such ", "number")


def heeding(cancel: threading.Event, tell: Callable[[int], None]) -> str:
    """Work until it is called off."""
    tell(1)
    return "called off" if cancel.wait(60.0) else "tired"


def deaf(cancel: threading.Event, tell: Callable[[int], None]) -> str:
    """Work on whatever one says."""
    tell(1)
    time.sleep(60.0)
    return "tired"


def busy(cancel: threading.Event, tell: Callable[[int], None]) -> int:
    """Give the process's number and leave something behind that goes on."""
    threading.Thread(target=time.sleep, args=(60.0,), daemon=True).start()
    return os.getpid()


def dying(*given: object) -> None:
    """Be killed."""
    os.kill(os.getpid(), signal.SIGKILL)


def solved_until_killed(
    site: Site, options: Options, cancel: threading.Event, tell: Callable[[Progress], None]
) -> Result:
    """Solve, and be killed once a plan and a bound were told."""
    seen = {"plan": False, "bound": False}

    def watch(progress: Progress) -> None:
        tell(progress)
        seen["plan"] |= progress.state is not None
        seen["bound"] |= progress.bound is not None and progress.bound > 0.0
        if all(seen.values()):
            os.kill(os.getpid(), signal.SIGKILL)

    return solve(site, options, cancel=cancel, watch=watch)


def solved_in_no_room(
    site: Site, options: Options, cancel: threading.Event, tell: Callable[[Progress], None]
) -> Result:
    """Solve, with next to no memory left from the first plan on."""
    limits = list[int]()

    def watch(progress: Progress) -> None:
        tell(progress)
        if progress.state is not None and not limits:
            pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
            limits.append(pages * resource.getpagesize() + ROOM)
            resource.setrlimit(resource.RLIMIT_AS, (limits[0], resource.RLIM_INFINITY))

    return solve(site, options, cancel=cancel, watch=watch)


def solved_deafly(
    site: Site, options: Options, cancel: threading.Event, tell: Callable[[Progress], None]
) -> Result:
    """Solve, and heed nothing once a plan was told."""

    def watch(progress: Progress) -> None:
        tell(progress)
        if progress.state is not None:
            time.sleep(60.0)

    return solve(site, options, watch=watch)
