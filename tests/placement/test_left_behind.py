"""A thousand services are let go; out of memory, or with a solver's program killed, the best plan is left."""

from __future__ import annotations

from pathlib import Path

import pulp
import pytest

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.placement.formulation.question_model import QuestionModel
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.solver import Answer
from planner.verify import verify_plan
from tests.benchmarks.generated import generated_site
from tests.benchmarks.letting_go import let_go

LARGE = 160
"""Services of a site that has a first plan in hand before it is solved."""


@pytest.mark.slow
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


@pytest.mark.slow
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
