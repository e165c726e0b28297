"""Solving behind the screen: newest wins, Escape keeps the best, leaving and dying solvers lose nothing."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
from textual.pilot import Pilot

from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.plan import Outcome, Plan
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.inventory import load
from planner.placement.result import Options, Progress, Result
from planner.report.why.page import PlaceEntry, WhyPage
from planner.verify import verify_plan
from planner.worker import WorkerLostError
from tests.tui.kept import kept_plan
from tests.tui.screens import SMALL, copy_of, drive, press, screen_text, settled, stand_in
from tui.app import Stillroom
from tui.forms.ask import Ask
from tui.forms.entry import EntryForm
from tui.session import Standing
from tui.solving.background import Ended, Last, News, Workbench
from tui.solving.processes import ApartAfterworker, ApartSolver

SITE = load(SMALL).site
WAIT_S = 10.0


@dataclass
class Slow:
    """Solves only once it is cancelled or let go; counts its calls."""

    starts: int = 0
    cancelled: int = 0
    let_go: threading.Event = field(default_factory=threading.Event)

    def __call__(
        self,
        site: Site,
        options: Options | None = None,
        *,
        last: Last | None = None,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        """Wait, then answer with the plain state."""
        del last
        self.starts += 1
        assert cancel is not None
        assert watch is not None
        watch(Progress(Aim.SOUND, 3.0, 1.5, 0.1))
        while not (cancel.wait(0.01) or self.let_go.is_set()):
            pass
        self.cancelled += cancel.is_set()
        plan = stand_in(site, options).plan
        assert plan is not None
        stopped = replace(plan, outcome=Outcome.STOPPED_WITH_PLAN, stopped_by="interrupted")
        return Result(stopped.outcome, stopped, (), 0.2)


def conflict(
    site: Site,
    options: Options | None = None,
    *,
    last: Last | None = None,
    cancel: threading.Event | None = None,
    watch: Callable[[Progress], None] | None = None,
) -> Result:
    """Find that no plan can exist while the budget is under 4,000."""
    if site.policy.budget is not None and site.policy.budget < 4000:
        dear = Conflict(Rule.BUDGET, amount=600.0, unit="EUR", there=3400.0, shown=Shown.REPAIR)
        return Result(Outcome.INFEASIBLE, None, (dear,), 0.1)
    return stand_in(site)


def failing(
    site: Site,
    options: Options | None = None,
    *,
    last: Last | None = None,
    cancel: threading.Event | None = None,
    watch: Callable[[Progress], None] | None = None,
) -> Result:
    """Die like a solver whose process was killed."""
    raise WorkerLostError("its process ended by itself (signal 9)")


def test_the_newest_solve_wins() -> None:
    """An older solve is called off, and its answer never arrives."""
    news: list[News] = []
    slow = Slow()
    bench = Workbench(slow, news.append)
    for revision in range(3):
        bench.start(SITE, None, revision)
    slow.let_go.set()
    bench.leave()
    assert {item.revision for item in news} <= {0, 1, 2}
    assert [item.revision for item in news if isinstance(item, Ended)] in ([], [2])


def test_escape_keeps_the_best(tmp_path: Path) -> None:
    """While a solve runs, aim, best, bound and gap are in sight; Escape ends it with its plan."""
    slow = Slow()

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        for _ in range(200):
            await pilot.pause(0.01)
            if app.standing.progress is not None:
                break
        assert "◔ planning sound, best 3 dB, bound 1.5, gap 1.5" in screen_text(app)
        await pilot.press("down", "down")
        await press(pilot, "escape")
        assert app.session.standing is Standing.STOPPED
        assert "■ stopped in 0.2 s by you" in screen_text(app)

    drive(tmp_path, script, solver=slow, is_settled=False)
    assert slow.starts == 1


@pytest.mark.slow
def test_an_edit_supersedes_a_running_solve(tmp_path: Path) -> None:
    """The first solve is cancelled; the plan at the end is that of the last text."""
    slow = Slow()

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await pilot.press("p", *"one", "enter", "down", "p", *"two", "enter")
        slow.let_go.set()
        await settled(pilot)
        assert app.session.planned is not None
        assert app.session.planned.site is app.session.site
        assert app.session.site.service["directory-2"].physical == "two"

    drive(tmp_path, script, solver=slow, is_settled=False)
    assert slow.cancelled >= 1


def test_leaving_calls_the_solve_off(tmp_path: Path) -> None:
    """The person never waits for a solver to leave."""
    slow = Slow()

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await pilot.press("q")

    app = drive(tmp_path, script, solver=slow, is_settled=False)
    assert not app.bench.is_busy


@pytest.mark.slow
def test_a_conflict_leads_to_what_gives_way(tmp_path: Path) -> None:
    """The conflict in words, the way out on a key, and the plan after it."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        assert "✖ no plan can exist" in screen_text(app)
        await press(pilot, "4")
        assert "1. the limits and rules together leave no plan" in screen_text(app)
        await press(pilot, "k")
        assert isinstance(app.screen, Ask)
        assert "1  the budget, 600 EUR more" in screen_text(app)
        await press(pilot, "1")
        form = app.screen
        assert isinstance(form, EntryForm)
        line = next(line for line in form.lines if line.field.label == "budget")
        assert line.control.has_focus
        await press(pilot, "=4000", "enter")
        assert app.session.standing is Standing.PROVEN
        assert "✔ policy: budget 4000" in screen_text(app)

    drive(tmp_path, script, solver=conflict)


def test_a_dead_solver_is_told_and_nothing_is_lost(tmp_path: Path) -> None:
    """The edit stays, can be saved, and planning can be tried again."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "p", "=its card", "enter")
        screen = screen_text(app)
        assert "✖ solver failed: WorkerLostError: its process ended by itself (signal 9)" in screen
        assert "g plans again" in screen
        await press(pilot, "s")
        assert app.session.is_saved

    app = drive(tmp_path, script, solver=failing)
    assert load(app.session.path).site.service["directory-1"].physical == "its card"


class KilledOnce(ApartSolver):
    """A solver whose process is killed once, when it tells its first plan."""

    kills = 1

    def __call__(
        self,
        site: Site,
        options: Options | None = None,
        *,
        last: Last | None = None,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        """Plan apart, and kill the process on the way."""

        def hear(progress: Progress) -> None:
            if self.kills and progress.state is not None:
                self.kills -= 1
                assert self.process_id is not None
                os.kill(self.process_id, signal.SIGKILL)
            if watch is not None:
                watch(progress)

        return super().__call__(site, options, last=last, cancel=cancel, watch=hear)


@pytest.mark.slow
def test_a_solver_killed_beside_the_screen_leaves_its_plan(tmp_path: Path) -> None:
    """The plan it told is shown, and how it ended; planning again is proven by a new process."""
    solver = KilledOnce()

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        standing = [app.session.standing]
        assert app.session.planned is not None
        kept = app.session.planned.plan
        assert kept.stopped_by == "the loss of the solver: its process ended by itself (signal 9)"
        assert verify_plan(app.session.site, kept) == ()
        await press(pilot, "g")
        assert [*standing, app.session.standing] == [Standing.STOPPED, Standing.PROVEN]

    drive(tmp_path, script, solver=solver)
    assert solver.kills == 0
    solver.close()
    assert solver.process_id is None


@pytest.mark.slow
def test_a_solver_apart_answers_like_the_solver() -> None:
    """The plan comes from the other process, with news on the way; a cancel is heeded."""
    solver, heard, cancel = ApartSolver(), list[Progress](), threading.Event()
    first = solver(SITE, Options(time_s=60.0), watch=heard.append)
    assert first.plan is not None
    assert heard
    cancel.set()
    stopped = solver(SITE, Options(start=first.plan.state), cancel=cancel)
    assert stopped.outcome in (Outcome.STOPPED_WITH_PLAN, Outcome.STOPPED_EMPTY, Outcome.PROVEN)
    solver.close()


@pytest.mark.slow
def test_why_grows_while_it_is_looked_at(tmp_path: Path) -> None:
    """What forbids each machine is there at once, what each would change follows; leaving ends the work."""
    let_go, called_off = threading.Event(), threading.Event()

    def explainer(site: Site, plan: Plan, service: str, time_s: float, off: threading.Event) -> WhyPage:
        while not (let_go.is_set() or off.wait(0.01)):
            pass
        if off.is_set():
            called_off.set()
        return WhyPage(site.name, "EUR", service, "here", "there", "", (PLACE,))

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "w")
        assert "being worked out" in screen_text(app)
        await press(pilot, "escape")
        assert called_off.wait(WAIT_S)
        await press(pilot, "w")
        let_go.set()
        while "being worked out" in screen_text(app):
            await pilot.pause(0.01)
        assert "+ birch: +3.2 dBA at plotter-desk, +120.0 W, -400 EUR with work" in screen_text(app)

    drive(tmp_path, script, explainer=explainer)


PLACE = PlaceEntry(
    "birch", "possible", (), (("plotter-desk", 3.2),), 120.0, -400.0, ("keeps on birch",), True
)


@pytest.mark.slow
def test_planning_again_starts_from_the_plan_at_hand(tmp_path: Path) -> None:
    """The first time there is none; then the one shown, with the site it was made for."""
    heard: list[Last | None] = []

    def solver(
        site: Site,
        options: Options | None = None,
        *,
        last: Last | None = None,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        heard.append(last)
        return stand_in(site, options, cancel=cancel, watch=watch)

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        first = app.session.planned
        assert first is not None
        await press(pilot, "p", "=its card", "enter")
        assert heard[0] is None
        assert heard[1] is not None
        assert heard[1].plan is first.plan
        assert heard[1].site is first.site

    drive(tmp_path, script, solver=solver)


@pytest.mark.slow
def test_waves_are_worked_out_apart(tmp_path: Path) -> None:
    """Windows are counted in a process of their own."""
    site = load(copy_of(tmp_path)).site
    worker = ApartAfterworker()
    found = worker(site, kept_plan("small-office", site))
    worker.close()
    assert found.windows > 0
    assert found.quiet is not None
