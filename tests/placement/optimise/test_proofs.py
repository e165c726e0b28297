"""What a solve makes of a solver that answers falsely, and what it says of what nothing else confirmed."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import islice
from typing import Any

import pulp
import pytest

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.formulation import question_model
from planner.placement.optimise import proofs
from planner.placement.optimise.proofs import ZERO
from planner.placement.result import Options, Result
from planner.placement.solve import solve
from planner.solver import Answer, Ending, Limits, Program, run
from planner.solver.confirm import Verdict
from planner.verify import verify_plan
from tests.kit.sites import tiny_site
from tests.oracles.brute import Brute
from tests.oracles.order import values_of

ORDER = (Aim.POWER, Aim.COST, Aim.CHANGE)

Lie = Callable[[Answer, Program, Mapping[str, Any]], Answer]


def _sites() -> Iterator[Site]:
    """List tiny sites that have a plan."""
    for seed in range(40):
        site = tiny_site(seed)
        if Brute(site).best(ORDER).state is not None:
            yield site


def _lie(
    monkeypatch: pytest.MonkeyPatch, lie: Callable[[Answer, Program, Mapping[str, Any]], Answer]
) -> None:
    """Have the solver's first answer with presolve falsified; what it says later is true."""

    def lying(program: Program, objective: pulp.LpAffineExpression, limits: Limits, **given: Any) -> Answer:
        answer = run(program, objective, limits, **given)
        return lie(answer, program, {"objective": objective, **given}) if limits.presolve else answer

    monkeypatch.setattr(question_model, "run", lying)


def _worst(answer: Answer, program: Program, given: Mapping[str, Any]) -> Answer:
    """Make the answer with the greatest value, and call it proven to be the least."""
    if not answer.found or not given["objective"]:
        return answer
    worst = run(program, -given["objective"], Limits(), extra=given["extra"])
    value = -worst.objective
    return replace(worst, objective=value, bound=value) if worst.found else answer


def _none(answer: Answer, program: Program, given: Mapping[str, Any]) -> Answer:
    """Call a programme infeasible, whatever it is."""
    return replace(answer, ending=Ending.INFEASIBLE, values={}, objective=float("inf"), bound=float("inf"))


def _values(site: Site, result: Result) -> dict[Aim, float]:
    assert result.plan is not None
    return values_of(site, result.plan.state)


@pytest.mark.slow
def test_a_false_optimum_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a run calls the worst plan the best, the best one comes out, and the lie is noted."""
    caught = 0
    for site in islice(_sites(), 12):
        best = Brute(site).best(ORDER)
        with monkeypatch.context() as patched:
            _lie(patched, _worst)
            result = solve(site, Options(aims=ORDER))
        values = _values(site, result)
        assert result.plan is not None
        assert result.plan.proven
        assert result.plan.confirmed
        assert not verify_plan(site, result.plan)
        for aim in ORDER:
            assert values[aim] == pytest.approx(best.values[aim], abs=1e-2), (site.name, aim)
        caught += bool(result.contradictions)
        assert result.plan.contradictions == result.contradictions
    assert caught >= 6


@pytest.mark.slow
def test_a_false_no_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a run says that there is no plan although there is one, the plan comes out, and no 'no'."""
    for site in islice(_sites(), 6):
        with monkeypatch.context() as patched:
            _lie(patched, _none)
            result = solve(site, Options(aims=ORDER))
        assert result.outcome is Outcome.PROVEN, site.name
        assert result.contradictions
        assert _values(site, result)[Aim.POWER] == pytest.approx(
            Brute(site).best(ORDER).values[Aim.POWER], abs=1e-2
        )


@pytest.mark.slow
def test_a_true_no_is_confirmed() -> None:
    """That no plan can exist is shown by sums or by a second road on every tiny site that has none."""
    shown = set()
    for seed in range(40):
        result = solve(tiny_site(seed))
        if result.outcome is Outcome.INFEASIBLE:
            assert result.confirmed_by, seed
            shown.add(result.confirmed_by)
    assert len(shown) > 1


def test_what_nothing_confirms_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without time for a second road a proof stands, but is not called confirmed."""
    monkeypatch.setattr(proofs, "confirm", lambda *_: Verdict())
    open_ones = 0
    for site in islice(_sites(), 8):
        result = solve(site, Options(aims=ORDER))
        assert result.plan is not None
        assert result.plan.proven
        for aim in result.plan.aims:
            assert aim.confirmed_by in ("", ZERO)
            open_ones += not aim.confirmed_by
        assert result.plan.confirmed == all(aim.confirmed_by for aim in result.plan.aims)
    assert open_ones > 8


def test_no_thread_is_left_behind() -> None:
    """When a solve has ended, so has what confirms it."""
    before = threading.active_count()
    for site in islice(_sites(), 4):
        solve(site)
        assert threading.active_count() == before
