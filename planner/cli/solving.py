"""Solves in the worker's process while the command waits, heeds signals and shows how far it has come."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

import click

from planner.cli import signals
from planner.cli.errors import OwnMistakeError, RefusedError
from planner.cli.exit_codes import ExitCode
from planner.cli.group import say
from planner.cli.worker import WORKER
from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.result import Options, Progress, RejectedPlanError, Result, Solve
from planner.placement.worker import LOST, cause_of, solve_apart
from planner.report.common.conflicts import reasons
from planner.report.common.progress import progress_text
from planner.verify import verify_plan

TICK_S = 0.2
"""Seconds between two looks of the progress line."""

PATIENCE_S = 1.0
"""Seconds that a study is given to answer a stop, after which its process is ended."""

OVERRUN, OVERRUN_S = 2.0, 60.0
"""How many times its time, and seconds on top, a study may take: not all it does looks at the clock."""

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


class ProgressLine:
    """The line on a terminal that says how far a job has come; off a terminal there is none."""

    def __init__(self, cancel: threading.Event) -> None:
        self._cancel, self._began = cancel, time.monotonic()
        self._is_shown = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
        self._is_stopping = cancel.is_set()
        self._next_s = TICK_S
        self.latest: Telling = partial(progress_text, "", None, None)

    def tick(self) -> None:
        """Show the line from time to time; once the job is stopped, say so instead."""
        seconds = time.monotonic() - self._began
        if self._cancel.is_set():
            if not self._is_stopping:
                self._is_stopping = True
                self.erase()
                say("stopping; the best so far is kept. Ctrl-C again leaves at once.")
        elif self._is_shown and seconds >= self._next_s:
            self._next_s = seconds + TICK_S
            _write_line(self.latest(seconds))

    def erase(self) -> None:
        """Wipe the line."""
        if self._is_shown:
            _write_line("")


def _write_line(text: str) -> None:
    sys.stderr.write(ERASE_LINE + text)
    sys.stderr.flush()


def attend(job: Callable[[threading.Event, ProgressLine], Found]) -> Found:
    """Do a job that solves in the worker; the first signal sets its event, the second leaves.

    Raises OwnMistakeError when the judge rejects a plan.
    """
    cancel = threading.Event()
    with signals.stopping(cancel):
        line = ProgressLine(cancel)
        try:
            return job(cancel, line)
        except RejectedPlanError as error:
            raise OwnMistakeError(f"the judge rejects the plan: {error}") from error
        finally:
            line.erase()


def solve(
    site: Site,
    options: Options | None = None,
    *,
    cancel: threading.Event | None = None,
    watch: Callable[[Progress], None] | None = None,
    tick: Callable[[], None] | None = None,
) -> Result:
    """Solve in the worker's process: where that is lost, the best plan that it told of is kept."""
    return solve_apart(WORKER, site, options, cancel=cancel, watch=watch, tick=tick)


def solver_of(line: ProgressLine) -> Solve:
    """Make what solves for a study of several plans: a solve that is lost is told, and the study goes on."""

    def solve_and_tell(
        site: Site,
        options: Options | None = None,
        *,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        result = solve(site, options, cancel=cancel, watch=watch, tick=line.tick)
        _say_lost(result.lost, cancel)
        return result

    return solve_and_tell


def search(
    work: str,
    *given: Any,
    time_s: float,
    doing: str = "solving",
    words: Callable[[Any], Telling] | None = None,
) -> tuple[Any, str]:
    """Have a study done in the worker; gives what it found and '', or what it told last and what ended it.

    Parameters
    ----------
    work
        The study as 'module:name'; it tells what it has found so far, None where it has told nothing.
    time_s
        Its time; well after that its process is ended.
    doing, words
        The progress line until it tells something, and what makes the line of what it tells.
    """
    told: list[Any] = [None]
    until = time.monotonic() + OVERRUN * time_s + OVERRUN_S

    def job(cancel: threading.Event, line: ProgressLine) -> tuple[Any, str]:
        line.latest = lambda seconds: f"{doing}, {seconds:.0f} s"

        def hear(news: Any) -> None:
            told[0] = news
            if words is not None:
                line.latest = words(news)

        try:
            found = WORKER.run(
                work,
                *given,
                cancel=cancel,
                watch=hear,
                tick=line.tick,
                until=lambda: until,
                patience_s=PATIENCE_S,
            )
        except LOST as error:
            cause = cause_of(error, cancel)
            _say_lost(cause, cancel)
            return told[0], cause
        return found, ""

    return attend(job)


def _say_lost(cause: str, cancel: threading.Event | None) -> None:
    if cause and not (cancel is not None and cancel.is_set()):
        say(f"ended by {cause}; what was found before is kept")


def run(site: Site, options: Options) -> Result:
    """Solve, show progress on a terminal, and give a result whose plan the judge has let pass.

    Raises
    ------
    OwnMistakeError
        If the judge rejects the plan: it is never shown.
    """

    def job(cancel: threading.Event, line: ProgressLine) -> Result:
        def watch(progress: Progress) -> None:
            line.latest = partial(progress_text, str(progress.aim), progress.best, progress.bound)

        return solve(site, options, cancel=cancel, watch=watch, tick=line.tick)

    result = attend(job)
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
