"""What is said to have stopped a solve is what did."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from planner.placement.formulation import question_model
from planner.placement.optimise.budget import NO_MEANS, SHARE_USED
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.solver import Answer, Ending, run
from tests.kit.sites import tiny_site
from tests.oracles.brute import Brute


def _a_site_with_a_plan() -> Any:
    return next(site for site in map(tiny_site, range(20)) if Brute(site).best(site.policy.aims).state)


def test_time_that_is_not_used_does_not_stop_a_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where runs end early without proof, the clock is not named: of 600 s next to nothing is used."""

    def unsure(*given: Any, **more: Any) -> Answer:
        answer = run(*given, **more)
        return replace(answer, bound=0.0) if answer.ending is Ending.PROVEN else answer

    monkeypatch.setattr(question_model, "run", unsure)
    result = solve(_a_site_with_a_plan(), Options(time_s=600.0))
    assert result.plan is not None
    assert result.plan.stopped_by == NO_MEANS


def test_a_step_that_used_its_share_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where runs are ended by the clock of their step, that is said, not that all the time is over."""

    def short(*given: Any, **more: Any) -> Answer:
        answer = run(*given, **more)
        stopped = replace(answer, ending=Ending.STOPPED, bound=0.0)
        return stopped if answer.ending is Ending.PROVEN else answer

    monkeypatch.setattr(question_model, "run", short)
    result = solve(_a_site_with_a_plan(), Options(time_s=600.0))
    assert result.plan is not None
    assert result.plan.stopped_by == SHARE_USED


def test_time_that_is_over_stops_a_solve() -> None:
    """A solve whose last moment has come says so, and keeps the plan that it started from."""
    site = _a_site_with_a_plan()
    start = Brute(site).best(site.policy.aims[::-1]).state
    result = solve(site, Options(time_s=0.0, start=start))
    assert result.plan is not None
    assert result.plan.state == start
    assert result.plan.stopped_by == "time limit"
