"""Work that does not heed a cancel is left behind; a solver that dies leaves the best checked plan."""

from __future__ import annotations

import sys
import threading
import time
from pathlib import Path

import pulp
import pytest

from planner.domain.plan import Outcome
from planner.domain.site import Aim, Site
from planner.placement import Options, solve
from planner.placement.formulation.question_model import Script
from planner.placement.optimise.watchdog import attended
from planner.solver import Answer
from planner.verify import verify_plan
from tests.benchmarks.generated import generated_site

PROMPT_S = 0.5
"""Within so many seconds a cancel is answered at any size."""

TRIES = 3
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
    began = time.monotonic()

    def deaf() -> None:
        awake.wait(30.0)

    assert not attended(deaf, cancel)
    assert time.monotonic() - began < 5.0
    awake.set()


def test_work_that_passes_its_last_moment_is_left_behind() -> None:
    """A solver that does not look at the clock does not keep the plan that is in hand."""
    awake = threading.Event()
    began = time.monotonic()

    def deaf() -> None:
        awake.wait(30.0)

    assert not attended(deaf, None, began + 0.2)
    assert 0.2 <= time.monotonic() - began < 5.0
    awake.set()


def test_a_solver_that_knows_no_clock_ends_with_the_first_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """The plan that was made before is given soon after the time is over, and not called proven."""
    awake, ahead_s = threading.Event(), [0.0]

    class Clock:
        """The clock of who waits: it is late as soon as the solver is at work."""

        @staticmethod
        def monotonic() -> float:
            return time.monotonic() + ahead_s[0]

    def deaf(self: Script, *given: object, **named: object) -> Answer:
        ahead_s[0] = 1000.0
        awake.wait(120.0)
        raise RuntimeError("nobody waits for this")

    monkeypatch.setattr(Script, "ask", deaf)
    monkeypatch.setattr(sys.modules["planner.placement.optimise.watchdog"], "time", Clock)
    site = generated_site(LARGE, aims=(Aim.POWER,))
    result = solve(site, Options(time_s=100.0))
    awake.set()
    assert result.seconds < 60.0
    assert result.outcome is Outcome.STOPPED_WITH_PLAN
    assert result.plan is not None
    assert result.plan.stopped_by == "time limit"
    assert verify_plan(site, result.plan) == ()


def _latency_s(site: Site, after_s: float) -> float:
    """Give how long a solve goes on after it is cancelled; what it then gives has passed the judge."""
    cancel, moments = threading.Event(), [0.0]

    def stop() -> None:
        moments[0] = time.monotonic()
        cancel.set()

    timer = threading.Timer(after_s, stop)
    timer.start()
    result = solve(site, Options(time_s=120.0), cancel=cancel)
    ended = time.monotonic()
    timer.join()
    assert result.outcome in (Outcome.STOPPED_WITH_PLAN, Outcome.STOPPED_EMPTY)
    if result.plan is not None:
        assert result.plan.stopped_by == "interrupted"
        assert verify_plan(site, result.plan) == ()
    return ended - moments[0]


@pytest.mark.parametrize("after_s", [1.5, 5.0])
def test_a_thousand_services_let_go_at_once(after_s: float) -> None:
    """A cancel is answered in half a second while the programme is written or its relaxation solved.

    The best of a few tries counts, as other work on the machine may hold one up.
    """
    site = generated_site(1000, aims=(Aim.POWER,))
    assert any(_latency_s(site, after_s) <= PROMPT_S for _ in range(TRIES))


def test_out_of_memory_keeps_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where memory runs out while solving, the plan made before stands, checked, and the reason is said."""
    site = generated_site(LARGE)

    def no_room(self: Script, *given: object, **named: object) -> Answer:
        raise MemoryError

    monkeypatch.setattr(Script, "ask", no_room)
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
