"""A solve in a process of its own: where that dies, the best checked plan that it told of is kept.

Why so: a solver that is killed, aborts or does not heed a cancel cannot take the command with it. The
process tells each better plan that the judge has passed, and its bounds; what it told last becomes the
plan, judged once more.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.optimise.chance_constraint import asks_for_confidence
from planner.placement.optimise.outcome import conclude, so_far
from planner.placement.result import Options, Progress, Result
from planner.placement.solve import solve
from planner.verify import verify_state
from planner.worker import Helper, HelperGoneError

WORK = "planner.placement.worker:solved"

INTERRUPTED = "interrupted"
ADVICE = "where memory is short, end other programs, then plan again"

Watch = Callable[[Progress], None]


def solved(site: Site, options: Options, cancel: threading.Event, tell: Watch) -> Result:
    """Solve as `solve` does; this is what a helper is asked to do."""
    return solve(site, options, cancel=cancel, watch=tell)


def solve_apart(
    helper: Helper,
    site: Site,
    options: Options,
    *,
    cancel: threading.Event | None = None,
    watch: Watch | None = None,
    work: tuple[str, tuple[Any, ...]] | None = None,
) -> Result:
    """Solve a site in a helper's process, as `solve` does, or by other ``work`` that tells as it does.

    Where the process dies, runs out of memory or does not heed a cancel, the result is the best checked
    plan that it told of, with the bounds it told; without one, it says how the process ended.
    """
    began, kept = time.monotonic(), _Kept()

    def hear(progress: Progress) -> None:
        kept.hear(progress)
        if watch is not None:
            watch(progress)

    name, given = work or (WORK, (site, options))
    try:
        answer: Result = helper.ask(name, given, cancel, hear)
    except HelperGoneError as error:
        called_off = cancel is not None and cancel.is_set()
        cause = INTERRUPTED if called_off else f"the loss of the solver: {error}"
        return kept.result(site, options, cause, time.monotonic() - began)
    return answer


class _Kept:
    """What a solve told: its best checked plan, and of each aim the best bound."""

    def __init__(self) -> None:
        self.state: State | None = None
        self.bounds: dict[Aim, float] = {}

    def hear(self, progress: Progress) -> None:
        if progress.bound is not None:
            self.bounds[progress.aim] = progress.bound
        if progress.state is not None:
            self.state = progress.state

    def result(self, site: Site, options: Options, cause: str, seconds: float) -> Result:
        """Give what is left of a solve that ended without an answer."""
        if self.state is None or verify_state(site, self.state):
            failure = "" if cause == INTERRUPTED else f"there was no plan yet at {cause}; {ADVICE}"
            return Result(Outcome.STOPPED_EMPTY, None, (), seconds, failure=failure)
        # Where a confidence is asked for, some of what was told is of targets tighter than the person's.
        bounds = {} if asks_for_confidence(site) else self.bounds
        aims = options.aims or site.policy.aims
        results = tuple(so_far(site, self.state, aims, bounds, options.previous))
        return conclude(site, self.state, results, options, cause, seconds)
