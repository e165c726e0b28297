"""Work that does not heed a cancel is left behind; a solver that dies leaves the best checked plan."""

from __future__ import annotations

import sys
import threading
import time
from pathlib import Path

import pulp
import pytest

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.placement import Options, solve
from planner.placement.formulation.question_model import QuestionModel
from planner.placement.optimise.watchdog import attended
from planner.solver import Answer
from planner.verify import verify_plan
from tests.benchmarks.generated import generated_site
from tests.benchmarks.letting_go import let_go

LARGE = 160
"""Services of a site that has a first plan in hand before it is solved."""


def test_work_that_ends_is_waited_for_and_its_error_is_raised() -> None:
    """Work is done; what it raises comes through from its thread."""
    done: list[int] = []
    assert attended(lambda: done.append(1), None)
    assert attended(lambda: done.append(2), threading.Event())
    assert done == [1, 2]
    with pytest.raises(ZeroDivisionError):
        attended(lambda: done.append(1 // 0), threading.Event())


def test_work_that_does_not_look_up_is_left_behind() -> None:
    """Deaf work is left at it soon after a cancel."""
    cancel, awake = threading.Event(), threading.Event()
    timer = threading.Timer(0.1, cancel.set)
    timer.start()
    ended: list[bool] = []

    def deaf() -> None:
        ended.append(awake.wait(300.0))

    assert not attended(deaf, cancel)
    assert not ended
    awake.set()


def test_work_that_passes_its_last_moment_is_left_behind() -> None:
    """A solver that does not look at the clock does not keep the plan that is in hand."""
    awake, ended = threading.Event(), list[bool]()

    def deaf() -> None:
        ended.append(awake.wait(300.0))

    assert not attended(deaf, None, time.monotonic() + 0.2)
    assert not ended
    awake.set()


def test_a_solver_that_knows_no_clock_ends_with_the_first_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """The plan that was made before is given soon after the time is over, and not called proven."""
    awake, ahead_s, ended = threading.Event(), [0.0], list[bool]()

    class Clock:
        """The clock of who waits: it is late as soon as the solver is at work."""

        @staticmethod
        def monotonic() -> float:
            return time.monotonic() + ahead_s[0]

    def deaf(self: QuestionModel, *given: object, **named: object) -> Answer:
        if self.model.problem.site is site:  # not work that another test has left behind
            ahead_s[0] = 1000.0
        ended.append(awake.wait(600.0))
        raise RuntimeError("nobody waits for this")

    site = generated_site(LARGE, aims=(Aim.POWER,))
    monkeypatch.setattr(QuestionModel, "ask", deaf)
    monkeypatch.setattr(sys.modules["planner.placement.optimise.watchdog"], "time", Clock)
    result = solve(site, Options(time_s=100.0))
    assert not ended
    awake.set()
    assert result.outcome is Outcome.STOPPED_WITH_PLAN
    assert result.plan is not None
    assert result.plan.stopped_by == "time limit"
    assert verify_plan(site, result.plan) == ()


@pytest.mark.parametrize("after_s", [1.5, 5.0])
def test_a_thousand_services_are_let_go(after_s: float) -> None:
    """A cancel while the programme is written or its relaxation solved ends a solve with what it has.

    How soon is measured by ``python -m tests.benchmarks.letting_go``.
    """
    site = generated_site(1000, aims=(Aim.POWER,))
    _, result = let_go(site, after_s)
    assert result.outcome in (Outcome.STOPPED_WITH_PLAN, Outcome.STOPPED_EMPTY)
    if result.plan is not None:
        assert result.plan.stopped_by == "interrupted"
        assert verify_plan(site, result.plan) == ()


def test_out_of_memory_keeps_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where memory runs out while solving, the plan made before stands, checked, and the reason is said."""
    site = generated_site(LARGE)

    def no_room(self: QuestionModel, *given: object, **named: object) -> Answer:
        raise MemoryError

    monkeypatch.setattr(QuestionModel, "ask", no_room)
    result = solve(site)
    assert result.outcome is Outcome.STOPPED_WITH_PLAN
    assert result.plan is not None
    assert result.plan.stopped_by == "lack of memory"
    assert verify_plan(site, result.plan) == ()


def test_a_solver_that_dies_keeps_the_plan(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Where the solver's process is killed, the plan made before stands, checked, and the reason is said."""
    killed = tmp_path / "solver"
    killed.write_text("#!/bin/sh\nkill -9 $$\n", encoding="ascii")
    killed.chmod(0o755)
    monkeypatch.setattr(pulp.PULP_CBC_CMD, "pulp_cbc_path", str(killed))
    site = generated_site(LARGE, aims=(Aim.POWER,))
    result = solve(site, Options(solver="cbc"))
    assert result.outcome is Outcome.STOPPED_WITH_PLAN
    assert result.plan is not None
    assert result.plan.stopped_by == "a failure of the solver"
    assert verify_plan(site, result.plan) == ()
