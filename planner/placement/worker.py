"""A solve in a worker's process: where that is lost, the best checked plan that it told of is kept.

Why so: a solver that is killed, aborts, or heeds neither a cancel nor the clock cannot take the command with
it: HiGHS does not look at either while it solves the first relaxation of 2,000 services, for a minute. The
process tells each better plan that the judge has passed, and its bounds; what it told last becomes the plan,
judged once more.
"""

from __future__ import annotations

import contextlib
import math
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from planner.domain.plan import INTERRUPTED, TIME_LIMIT, Outcome, Plan
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.optimise.chance_constraint import asks_for_confidence
from planner.placement.optimise.outcome import finalise, results_so_far
from planner.placement.params import PARAMS
from planner.placement.result import Options, Progress, Result
from planner.placement.studies.known_state import still_known
from planner.verify import verify_state
from planner.worker import OverrunError, Worker, WorkerLostError

SOLVE = "planner.placement.solve:solve"
RESTARTS = "planner.placement.failover.restart:planned_restarts"
SOLVE_AGAIN = "planner.placement.studies.reoptimise:solve_again"

LOST = (WorkerLostError, MemoryError, SystemError)
"""What is raised where a search is lost with its process, or for want of memory."""

ADVICE = "where memory is short, end other programs, then plan again"

Watch = Callable[[Progress], None]
Tick = Callable[[], None]


def solve_apart(
    worker: Worker,
    site: Site,
    options: Options | None = None,
    *,
    cancel: threading.Event | None = None,
    watch: Watch | None = None,
    tick: Tick | None = None,
) -> Result:
    """Solve a site in a worker's process, as `solve` does; ``tick`` is called meanwhile.

    Where the process dies, runs out of memory or does not heed a cancel or its time, the result is the best
    checked plan that it told of, with the bounds it told; without one, it says how the process ended.
    """
    asked = options or Options()
    return _run(worker, SOLVE, (site, asked), site, asked, cancel, watch, tick)


def solve_again_apart(
    worker: Worker,
    before: Site,
    last: Plan,
    site: Site,
    options: Options | None = None,
    *,
    cancel: threading.Event | None = None,
    watch: Watch | None = None,
) -> Result:
    """Plan an edited site from the last plan in a worker's process, as `solve_again` does."""
    given = options or Options()
    asked = replace(given, previous=still_known(site, last.state))
    return _run(worker, SOLVE_AGAIN, (before, last, site, given), site, asked, cancel, watch, None)


def _run(
    worker: Worker,
    work: str,
    given: tuple[Any, ...],
    site: Site,
    options: Options,
    cancel: threading.Event | None,
    watch: Watch | None,
    tick: Tick | None,
) -> Result:
    kept = _Kept(site, options)

    def hear(progress: Progress) -> None:
        kept.hear(progress)
        if watch is not None:
            watch(progress)

    try:
        answer: Result = worker.run(
            work,
            *given,
            cancel=cancel,
            watch=hear,
            tick=tick,
            until=kept.until,
        )
    except LOST as error:
        cause = cause_of(error, cancel)
        return replace(_with_restarts(worker, site, kept.result(cause)), lost=cause)
    return answer


def _with_restarts(worker: Worker, site: Site, result: Result) -> Result:
    """Have a new process search where services of a kept plan restart; none where it is lost too."""
    if result.plan is None or not site.policy.spare_hosts:
        return result
    with contextlib.suppress(WorkerLostError):
        restarts = worker.run(RESTARTS, site, result.plan.state)
        return replace(result, plan=replace(result.plan, restarts=restarts))
    return result


def cause_of(error: Exception, cancel: threading.Event | None) -> str:
    """Look up the words for what ended a search whose process was lost, or ran out of memory.

    A library that finds no memory may as well raise a SystemError.
    """
    if cancel is not None and cancel.is_set():
        return INTERRUPTED
    if isinstance(error, MemoryError | SystemError):
        return "lack of memory" if isinstance(error, MemoryError) else "a failure of the solver"
    return TIME_LIMIT if isinstance(error, OverrunError) else f"the loss of the solver: {error}"


class _Kept:
    """What a solve told: its best checked plan, of each aim the best bound, and whether no plan can exist."""

    def __init__(self, site: Site, options: Options) -> None:
        self.site, self.options, self.began = site, options, time.monotonic()
        self.state: State | None = None
        self.bounds: dict[Aim, float] = {}
        self.ruled_out_by: str | None = None

    def hear(self, progress: Progress) -> None:
        if progress.bound is not None:
            self.bounds[progress.aim] = progress.bound
        if progress.state is not None:
            self.state = progress.state
        if progress.ruled_out_by is not None:
            self.ruled_out_by = progress.ruled_out_by

    def until(self) -> float:
        """Compute the last moment of the solve; what would have to give way is sought without one."""
        if self.ruled_out_by is not None:
            return math.inf
        params, time_s = PARAMS.budget, self.options.time_s
        return self.began + time_s + max(params.overrun_s, params.overrun_share * time_s)

    def result(self, cause: str) -> Result:
        """Make a result of what is left of a solve that ended without an answer."""
        site, options, seconds = self.site, self.options, time.monotonic() - self.began
        if self.ruled_out_by is not None:
            return Result(Outcome.INFEASIBLE, None, (), seconds, self.ruled_out_by)
        if self.state is None or verify_state(site, self.state):
            is_lost = cause not in (INTERRUPTED, TIME_LIMIT)
            failure = f"there was no plan yet at {cause}; {ADVICE}" if is_lost else ""
            return Result(Outcome.STOPPED_EMPTY, None, (), seconds, failure=failure)
        # Where a confidence is asked for, some of what was told is of targets tighter than the person's.
        bounds = {} if asks_for_confidence(site) else self.bounds
        aims = options.aims or site.policy.aims
        results = tuple(results_so_far(site, self.state, aims, bounds, options.previous))
        return finalise(site, self.state, results, options, cause, seconds)
