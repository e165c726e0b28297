"""Work that tests ask a worker process to do."""

from __future__ import annotations

import os
import resource
import signal
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.formulation.question_model import QuestionModel
from planner.placement.result import Options, Progress, Result
from planner.placement.solve import solve
from planner.solver import Answer

TOLD_BOUND = 1.0
ROOM = 4 * 1024 * 1024
"""Bytes that are left to a solver that is to run out of memory."""


class WorkError(ValueError):
    """What work raises that fails."""


class StrangeError(Exception):
    """What cannot be sent: it cannot be made again from its words."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(one + two)


def doubled(number: int, cancel: threading.Event, watch: Callable[[int], None] = print) -> int:
    """Compute twice a number, and tell it on the way."""
    del cancel
    watch(number)
    return 2 * number


def failing(cancel: threading.Event, watch: Callable[[int], None] = print) -> int:
    """Fail."""
    raise WorkError("no such number")


def failing_strangely(cancel: threading.Event, watch: Callable[[int], None] = print) -> int:
    """Fail with what cannot be sent."""
    raise StrangeError("no such ", "number")


def heeding(cancel: threading.Event, watch: Callable[[int], None] = print) -> str:
    """Work until it is called off."""
    watch(1)
    return "called off" if cancel.wait(60.0) else "tired"


def deaf(cancel: threading.Event, watch: Callable[[int], None] = print) -> str:
    """Work on whatever one says."""
    watch(1)
    time.sleep(60.0)
    return "tired"


def cancelled(cancel: threading.Event, watch: Callable[[int], None] = print) -> bool:
    """Say whether it is called off, given time to be."""
    return cancel.wait(0.02)


def printing(cancel: threading.Event, watch: Callable[[int], None] = print) -> str:
    """Print, by Python and past it."""
    print("out")
    print("err", file=sys.stderr)
    os.write(1, b"out")
    os.write(2, b"err")
    return "printed"


def dying(*given: object, **named: object) -> None:
    """Be killed."""
    os.kill(os.getpid(), signal.SIGKILL)


def solved_until_killed(
    site: Site, options: Options, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Solve, and be killed once a plan and a bound were told."""
    seen = {"plan": False, "bound": False}

    def hear(progress: Progress) -> None:
        watch(progress)
        seen["plan"] |= progress.state is not None
        seen["bound"] |= progress.bound is not None and progress.bound > 0.0
        if all(seen.values()):
            os.kill(os.getpid(), signal.SIGKILL)

    return solve(site, options, cancel=cancel, watch=hear)


def solved_in_no_room(
    site: Site, options: Options, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Solve, with next to no memory left from the first plan on."""
    limits = list[int]()

    def hear(progress: Progress) -> None:
        watch(progress)
        if progress.state is not None and not limits:
            pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
            limits.append(pages * resource.getpagesize() + ROOM)
            resource.setrlimit(resource.RLIMIT_AS, (limits[0], resource.RLIM_INFINITY))

    return solve(site, options, cancel=cancel, watch=hear)


def solved_with_a_bound_then_deafly(
    site: Site, options: Options, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Solve with a solver that tells a bound and then hears nothing."""

    def deaf(self: QuestionModel, *given: object, **named: object) -> Answer:
        for hear in (item for item in given if callable(item)):
            hear(float("inf"), TOLD_BOUND, 0.0)
        time.sleep(60.0)
        raise AssertionError("it was to be ended")

    QuestionModel.ask = deaf  # type: ignore[method-assign]
    return solve(site, options, cancel=cancel, watch=watch)


def killed_once_ruled_out(
    site: Site, options: Options, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Say that no plan can exist, and be killed while what would have to give way is sought."""
    watch(Progress(Aim.SOUND, None, None, 0.1, ruled_out_by=""))
    os.kill(os.getpid(), signal.SIGKILL)
    raise AssertionError("it was to be killed")


def solved_deafly(
    site: Site, options: Options, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Solve, and heed nothing once a plan was told."""

    def hear(progress: Progress) -> None:
        watch(progress)
        if progress.state is not None:
            time.sleep(60.0)

    return solve(site, options, watch=hear)


def solved_once_stopped(
    site: Site, options: Options, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Wait to be called off, then solve."""
    watch(Progress(Aim.SOUND, 3.0, 1.0, 0.1))
    cancel.wait(60.0)
    return solve(site, options)


def never_stopped(
    site: Site, options: Options, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Tell something, and go on whatever one says."""
    watch(Progress(Aim.SOUND, 3.0, 1.0, 0.1))
    time.sleep(60.0)
    return solve(site, options)


def solved_slowly(
    site: Site, options: Options, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Tell something, and solve after a while."""
    watch(Progress(Aim.SOUND, 3.0, 1.0, 0.1))
    time.sleep(1.0)
    return solve(site, options)
