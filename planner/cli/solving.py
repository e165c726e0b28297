"""Solves in a worker thread, so that Ctrl-C works and the progress line has a clock of its own."""

from __future__ import annotations

import math
import os
import sys
import threading
import time
from collections.abc import Callable
from typing import Any, Generic, TypeVar

import click

from planner.cli import signals
from planner.cli.errors import LeftBehindError, OwnMistakeError, RefusedError
from planner.cli.exit_codes import ExitCode
from planner.cli.group import say
from planner.cli.helper import HELPER
from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.result import Options, Progress, RejectedPlanError, Result
from planner.placement.worker import solve_apart
from planner.report.common.conflicts import reasons
from planner.report.common.progress import progress_text
from planner.verify import verify_plan

TICK_S = 0.2

PATIENCE_S = 1.0
"""Seconds that work in a thread is given to end after a signal; a plan is made in a process that is ended."""

ERASE_LINE = "\r\x1b[K"
CODES = {
    Outcome.PROVEN: ExitCode.DONE,
    Outcome.WITHIN_GAP: ExitCode.DONE,
    Outcome.STOPPED_WITH_PLAN: ExitCode.STOPPED_WITH_PLAN,
    Outcome.STOPPED_EMPTY: ExitCode.STOPPED_EMPTY,
    Outcome.INFEASIBLE: ExitCode.NO_PLAN_EXISTS,
    Outcome.FAILED: ExitCode.INTERNAL_ERROR,
}
Function = TypeVar("Function", bound=Callable[..., Any])
Found = TypeVar("Found")


def solve_options(function: Function) -> Function:
    """Add the options that say how to solve; the command gets them as one ``options``."""
    made: tuple[Callable[[Function], Function], ...] = (
        click.option(
            "--time", "time_s", default=60.0, callback=_above_zero, help="Seconds for all aims.  [60]"
        ),
        click.option(
            "--seed", default=0, type=click.IntRange(0, 2**31 - 1), help="Same seed, same plan.  [0]"
        ),
        click.option("--gap", default=0.0, callback=_gap, help="Share short of the best to settle for.  [0]"),
        click.option(
            "--aim",
            "aims",
            multiple=True,
            type=click.Choice([str(aim) for aim in Aim]),
            callback=_aims,
            help="An aim; repeat it to give the order.",
        ),
        click.option(
            "--solver", default="highs", type=click.Choice(["highs", "cbc"]), help="Solver.  [highs]"
        ),
    )
    for decorate in reversed(made):
        function = decorate(function)
    return function


def _above_zero(ctx: click.Context, param: click.Parameter, value: float) -> float:
    if not 0.0 < value < float("inf"):
        raise click.BadParameter("give a number of seconds above 0", ctx, param)
    return value


def _gap(ctx: click.Context, param: click.Parameter, value: float) -> float:
    if not 0.0 <= value < 1.0:
        raise click.BadParameter("give a share from 0 to under 1, such as 0.05", ctx, param)
    return value


def _aims(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> tuple[Aim, ...] | None:
    if len(set(value)) < len(value):
        raise click.BadParameter("an aim can stand in the order only once", ctx, param)
    return tuple(Aim(name) for name in value) or None


Telling = Callable[[float], str]
"""The line that says how far a job has come, from the seconds it has taken."""

Work = Callable[[threading.Event, Callable[[Telling], None]], Found]
"""What a job does: it heeds the event that cancels it, and tells how far it has come."""


class Job(Generic[Found]):
    """One solve in a thread of its own; a daemon, so that the command can end without it."""

    def __init__(self, work: Work[Found]) -> None:
        self.cancel = threading.Event()
        self.done = threading.Event()
        self.latest: Telling | None = None
        self._results: list[Found] = []
        self._error: BaseException | None = None
        self._work = work
        self._thread = threading.Thread(target=self._run, name="solve", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def _run(self) -> None:
        try:
            self._results.append(self._work(self.cancel, self._tell))
        except BaseException as error:
            self._error = error
        finally:
            self.done.set()

    def _tell(self, latest: Telling) -> None:
        self.latest = latest

    def result(self) -> Found:
        """Give the result, or raise what the solve raised."""
        self._thread.join()
        if self._error is not None:
            raise self._error
        return self._results[0]


def finish(work: Work[Found], patience_s: float = PATIENCE_S) -> Found:
    """Do some work apart, with progress on a terminal; the judge's refusal of a plan is our own mistake.

    The first signal stops the work. Raises LeftBehindError where it does not end ``patience_s`` after that.
    """
    job = Job(work)
    with signals.stopping(job.cancel):
        job.start()
        _wait(job, patience_s)
    try:
        return job.result()
    except RejectedPlanError as error:
        raise OwnMistakeError(f"the judge rejects the plan: {error}") from error


def solve(
    site: Site, options: Options, *, cancel: threading.Event, watch: Callable[[Progress], None]
) -> Result:
    """Solve in a process of its own: where that dies, the best plan that it told of is kept."""
    return solve_apart(HELPER, site, options, cancel=cancel, watch=watch)


def run(site: Site, options: Options) -> Result:
    """Solve, show progress on a terminal, and give a result whose plan the judge has let pass.

    Raises
    ------
    OwnMistakeError
        If the judge rejects the plan: it is never shown.
    """

    def work(cancel: threading.Event, tell: Callable[[Telling], None]) -> Result:
        def watch(progress: Progress) -> None:
            aim, best, bound = str(progress.aim), progress.best, progress.bound
            tell(lambda seconds: progress_text(aim, best, bound, seconds))

        return solve(site, options, cancel=cancel, watch=watch)

    result = finish(work, math.inf)
    if result.outcome is Outcome.FAILED:
        raise _failure(site, result)
    _judge(site, result)
    say(f"{result.outcome}; {result.seconds:.1f} s")
    return result


def _failure(site: Site, result: Result) -> Exception:
    why = reasons(site, result.outcome, result.conflicts, result.failure)
    if why:
        return RefusedError(*why)
    return OwnMistakeError("the solver failed without a word; try --solver cbc")


def _judge(site: Site, result: Result) -> None:
    if result.plan is None:
        return
    breaches = verify_plan(site, result.plan)
    if breaches:
        words = "; ".join(f"{item.rule}, {item.where}: {item.message}" for item in breaches)
        raise OwnMistakeError(f"the judge rejects the plan: {words}")


def _wait(job: Job[Any], patience_s: float) -> None:
    shown = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
    told, is_stopping, until = job.cancel.is_set(), False, math.inf
    began = time.monotonic()
    while not job.done.wait(TICK_S):
        if job.cancel.is_set() and not is_stopping:
            is_stopping, until = True, time.monotonic() + patience_s
            _erase(shown)
            if not told:
                say("stopping; the best so far is kept. Ctrl-C again leaves at once.")
        elif time.monotonic() > until:
            raise LeftBehindError
        elif shown:
            _show(job.latest, time.monotonic() - began)
    _erase(shown)


def _erase(shown: bool) -> None:
    if shown:
        sys.stderr.write(ERASE_LINE)
        sys.stderr.flush()


def _show(latest: Telling | None, seconds: float) -> None:
    text = progress_text("", None, None, seconds) if latest is None else latest(seconds)
    sys.stderr.write(ERASE_LINE + text)
    sys.stderr.flush()
