"""Solves in the background: one solve at a time, the newest wins, and the best found is never lost."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from planner.domain.plan import Plan
from planner.domain.site import Site
from tui.solving.planned import Planned

if TYPE_CHECKING:
    from planner.placement.result import Options, Progress, Result

LEAVE_S = 2.0


@dataclass(frozen=True)
class Last:
    """The plan at hand, and the site it was made for."""

    site: Site
    plan: Plan


class Solver(Protocol):
    """What solves: `tui.solving.processes.ApartSolver`, or a stand-in."""

    def __call__(
        self,
        site: Site,
        options: Options | None = None,
        *,
        last: Last | None = None,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        """Make a checked plan, or why there is none."""
        ...


@runtime_checkable
class Closable(Protocol):
    """What works in a process of its own, which can be ended at once."""

    def close(self) -> None:
        """End it."""
        ...


def end_at_once(worker: object) -> None:
    """End a worker's process, where it has one."""
    if isinstance(worker, Closable):
        worker.close()


@dataclass(frozen=True)
class Began:
    """A solve has begun for a revision of the text."""

    revision: int


@dataclass(frozen=True)
class Running:
    """Where the solve for a revision stands."""

    revision: int
    progress: Progress


@dataclass(frozen=True)
class Ended:
    """The solve for a revision has ended: with a result, or else with the reason of its failure."""

    revision: int
    result: Result | None
    failure: str = ""
    planned: Planned | None = None


def worked_through(site: Site, result: Result) -> Planned | None:
    """Make a result's plan with all it says worked out, so that showing it is quick; None without a plan."""
    if result.plan is None:
        return None
    planned = Planned(site, result.plan, result.seconds)
    assert planned.page is not None
    assert planned.today is not None
    assert planned.then is not None
    return planned


News = Began | Running | Ended


class Workbench:
    """Runs solves in threads; ``tell`` is called from those threads and must not touch the screen."""

    def __init__(self, solver: Solver, tell: Callable[[News], None], time_s: float = 60.0) -> None:
        self._solver = solver
        self._tell = tell
        self.time_s = time_s
        self._cancel = threading.Event()
        self._thread: threading.Thread | None = None
        self._newest = -1

    @property
    def is_busy(self) -> bool:
        """Whether a solve runs."""
        return self._thread is not None and self._thread.is_alive()

    def start(self, site: Site, last: Last | None, revision: int) -> None:
        """Solve a site from the last plan; a solve that runs is called off and its answer dropped."""
        self._cancel.set()
        before, self._cancel, self._newest = self._thread, threading.Event(), revision
        work = (site, last, self._cancel, revision, before)
        self._thread = threading.Thread(target=self._work, args=work, name="solve", daemon=True)
        self._thread.start()

    def keep_best(self) -> bool:
        """Stop the running solve and take its best plan; False when none runs."""
        self._cancel.set()
        return self.is_busy

    def leave(self) -> None:
        """Call everything off, and wait only briefly."""
        self._newest = -1
        self._cancel.set()
        end_at_once(self._solver)
        if self._thread is not None:
            self._thread.join(LEAVE_S)

    def _work(
        self,
        site: Site,
        last: Last | None,
        cancel: threading.Event,
        revision: int,
        before: threading.Thread | None,
    ) -> None:
        if before is not None:
            before.join()
        if revision != self._newest:
            return
        self._say(Began(revision))
        # Here, where nobody waits for it: whoever knows these knows the solver.
        from planner.placement.result import Options

        options = Options(time_s=self.time_s)

        def watch(progress: Progress) -> None:
            self._say(Running(revision, progress))

        try:
            result = self._solver(site, options, last=last, cancel=cancel, watch=watch)
            planned = worked_through(site, result)
        except Exception as error:
            self._say(Ended(revision, None, f"{type(error).__name__}: {error}"))
        else:
            self._say(Ended(revision, result, planned=planned))

    def _say(self, news: News) -> None:
        if news.revision == self._newest:
            self._tell(news)
