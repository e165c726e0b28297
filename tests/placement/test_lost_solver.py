"""A solver that dies, runs out of memory or goes deaf in its own process leaves the best checked plan."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement import worker as apart
from planner.placement.params import PARAMS
from planner.placement.result import Options, Progress, Result
from planner.placement.solve import solve
from planner.placement.worker import solve_apart
from planner.verify import verify_plan
from planner.worker import Worker
from tests.benchmarks.generated import generated_site
from tests.kit.sites import medium_site

LARGE, LARGER = 160, 400


@pytest.fixture(scope="module")
def worker() -> Iterator[Worker]:
    """A worker process, started once."""
    made = Worker(("tests.kit.works",))
    yield made
    made.close()


def _assert_kept(site: Site, result: Result, told: list[Progress]) -> None:
    """The plan kept is the last one told, as good as it was told, and has passed the judge."""
    assert result.outcome is Outcome.STOPPED_WITH_PLAN
    assert result.plan is not None
    last = [progress for progress in told if progress.state is not None][-1]
    assert result.plan.state == last.state
    assert result.plan.aims[0].value == last.best
    assert verify_plan(site, result.plan) == ()


@pytest.mark.slow
def test_a_solve_apart_is_the_solve(worker: Worker) -> None:
    """The same plan comes from the other process as from this one."""
    site = medium_site(12, services=15)
    there, here = solve_apart(worker, site, Options()), solve(site, Options())
    assert there.plan == here.plan
    assert there.outcome is Outcome.PROVEN


@pytest.mark.slow
def test_a_killed_solver_leaves_plan_and_bound(worker: Worker, monkeypatch: pytest.MonkeyPatch) -> None:
    """Killed with plans in hand, their best is given, with the bound that was told, and the reason."""
    site, told = generated_site(LARGE, aims=(Aim.POWER,)), list[Progress]()
    monkeypatch.setattr(apart, "SOLVE", "tests.kit.works:solved_until_killed")
    result = solve_apart(worker, site, Options(), watch=told.append)
    _assert_kept(site, result, told)
    assert result.plan is not None
    assert "the loss of the solver: its process ended by itself (signal 9)" in result.plan.stopped_by
    bounds = [progress.bound for progress in told if progress.bound is not None]
    assert 0.0 < result.plan.aims[0].bound == bounds[-1] <= result.plan.aims[0].value


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="needs to know what memory is taken")
def test_a_solver_without_memory_leaves_the_plan(worker: Worker, monkeypatch: pytest.MonkeyPatch) -> None:
    """With no memory left for the solver the plan made before is given, and the reason."""
    site, told = generated_site(LARGER, aims=(Aim.POWER,)), list[Progress]()
    monkeypatch.setattr(apart, "SOLVE", "tests.kit.works:solved_in_no_room")
    result = solve_apart(worker, site, Options(), watch=told.append)
    worker.close()
    _assert_kept(site, result, told)
    assert result.plan is not None
    reasons = ("lack of memory", "a failure of the solver", "the loss of the solver")
    assert any(reason in result.plan.stopped_by for reason in reasons)


@pytest.mark.slow
def test_a_deaf_solver_is_ended_at_a_cancel(worker: Worker, monkeypatch: pytest.MonkeyPatch) -> None:
    """A solver that does not heed a cancel is ended, and what it told of is given as interrupted."""
    site, told, cancel = generated_site(LARGE, aims=(Aim.POWER,)), list[Progress](), threading.Event()

    def watch(progress: Progress) -> None:
        told.append(progress)
        cancel.set()

    monkeypatch.setattr(apart, "SOLVE", "tests.kit.works:solved_deafly")
    result = solve_apart(worker, site, Options(), cancel=cancel, watch=watch)
    _assert_kept(site, result, told)
    assert result.plan is not None
    assert result.plan.stopped_by == "interrupted"


@pytest.mark.slow
def test_a_solver_that_knows_no_clock_is_ended(worker: Worker, monkeypatch: pytest.MonkeyPatch) -> None:
    """A solver that does not look at the clock is ended, and what it told of is given, not called proven."""
    site, told = generated_site(LARGE, aims=(Aim.POWER,)), list[Progress]()
    monkeypatch.setattr(apart, "SOLVE", "tests.kit.works:solved_deafly")
    at_once = replace(PARAMS, budget=replace(PARAMS.budget, overrun_s=0.0))
    monkeypatch.setattr(apart, "PARAMS", at_once)
    result = solve_apart(worker, site, Options(time_s=8.0), watch=told.append)
    _assert_kept(site, result, told)
    assert result.plan is not None
    assert result.plan.stopped_by == "time limit"


@pytest.mark.slow
def test_what_is_ruled_out_stays_so(worker: Worker, monkeypatch: pytest.MonkeyPatch) -> None:
    """A solver that dies while it seeks what would have to give way leaves that no plan can exist."""
    site = medium_site(12, services=15)
    monkeypatch.setattr(apart, "SOLVE", "tests.kit.works:killed_once_ruled_out")
    result = solve_apart(worker, site, Options())
    assert result.outcome is Outcome.INFEASIBLE
    assert result.conflicts == ()


@pytest.mark.slow
def test_a_solver_lost_before_a_plan_says_so(worker: Worker, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a plan in hand there is none, and the reason and what to do are said."""
    site = medium_site(12, services=15)
    monkeypatch.setattr(apart, "SOLVE", "tests.kit.works:dying")
    result = solve_apart(worker, site, Options())
    assert result.outcome is Outcome.STOPPED_EMPTY
    assert result.plan is None
    assert result.failure == (
        "there was no plan yet at the loss of the solver: its process ended by itself (signal 9); "
        "where memory is short, end other programs, then plan again"
    )
