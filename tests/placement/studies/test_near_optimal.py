"""Alternatives against a search of every state: each is the best that decides otherwise, a no is a no."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from planner.domain.plan import Plan, aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.alternatives import Alternatives, Margins, Sort, decisions
from planner.placement.studies.near_optimal import alternatives, at_most
from planner.verify import verify_plan
from planner.verify.plan.sampling import held_dba
from planner.verify.trial import Trial
from tests.kit.sites import tiny_site
from tests.oracles.brute import Brute, Candidate

AIMS = (Aim.SOUND, Aim.POWER, Aim.COST, Aim.CHANGE)
MARGINS = Margins(sound_db=1.0, power=0.10, cost=0.25)

SCATTER_DB = 0.2
"""How far two samples of 20,000 may put the level that 80 % keep apart, with room to spare."""


def _within(brute: Brute, plan: Plan) -> list[Candidate]:
    limits = at_most(brute.site, plan, MARGINS)
    near = [
        index
        for index, item in enumerate(brute.candidates)
        if all(item.values[aim] <= limit + 1e-4 for aim, limit in limits.items())
    ]
    return [brute.candidates[index] for index in near if brute.passes(index)]


def _others(site: Site, near: list[Candidate], sort: Sort, shown: list[State]) -> list[Candidate]:
    """List the candidates that decide otherwise in a sort than every state shown."""
    seen = [decisions(site, state, sort) for state in shown]
    return [item for item in near if decisions(site, item.state, sort) not in seen]


def _assert_best(site: Site, plan: Plan, found: Alternatives, near: list[Candidate]) -> None:
    shown = [plan.state]
    for item in found.found:
        state = item.plan.state
        assert not verify_plan(site, item.plan)
        assert item.plan.proven
        others = _others(site, near, item.sort, shown)
        assert decisions(site, state, item.sort) not in [decisions(site, s, item.sort) for s in shown]
        reached = {result.aim: result.value for result in item.plan.aims}
        sound = min(other.values[Aim.SOUND] for other in others)
        assert reached[Aim.SOUND] == pytest.approx(sound, abs=1e-6)
        power = min(o.values[Aim.POWER] for o in others if o.values[Aim.SOUND] <= sound + 1e-6)
        assert reached[Aim.POWER] == pytest.approx(power, abs=1e-2)
        shown.append(state)
    for sort in found.none_left:
        assert not _others(site, near, sort, shown), (site.name, sort)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 60, 12))
def test_alternatives_are_those_of_all_states(first: int) -> None:
    """On tiny sites each alternative is the best there is, and what is said not to be there is not there.

    Agreement says something: of each twelve at least one has several alternatives and one has none.
    """
    counts = []
    for seed in range(first, first + 12):
        site = tiny_site(seed)
        plan = solve(site, Options(aims=AIMS)).plan
        if plan is not None:
            found = alternatives(site, plan, MARGINS, Options(aims=AIMS))
            assert not found.stopped_by
            _assert_best(site, plan, found, _within(Brute(site), plan))
            counts.append(len(found.found))
    assert 2 <= max(counts) <= 5
    assert 0 in counts


@pytest.mark.slow
def test_no_more_than_asked_for() -> None:
    """One alternative asked for is one at most, and the plan itself is none."""
    for seed in range(0, 30, 2):
        plan = solve(tiny_site(seed), Options(aims=AIMS)).plan
        if plan is not None:
            found = alternatives(tiny_site(seed), plan, MARGINS, most=1).found
            assert len(found) <= 1
            assert all(item.plan.state != plan.state for item in found)


def test_a_cancelled_search_says_so() -> None:
    """A cancel before the first question leaves no alternative and no claim that there is none."""
    cancel = threading.Event()
    cancel.set()
    plan = solve(tiny_site(2), Options(aims=AIMS)).plan
    assert plan is not None
    found = alternatives(tiny_site(2), plan, MARGINS, cancel=cancel)
    assert (found.found, found.none_left, found.stopped_by) == ((), (), "interrupted")


def _surely(site: Site) -> Site:
    """Make a site whose targets are to be met with 80 %, a target where there is none."""
    listeners = tuple(
        replace(item, target_dba=item.target_dba or 45.0, confidence=0.8) for item in site.listeners
    )
    return replace(site, listeners=listeners)


def _over_db(site: Site, state: State) -> float:
    """Compute by the judge's own samples how far a state is over the targets that it is to keep surely."""
    trial = Trial(site, state)
    return max(held_dba(trial, item) - (item.target_dba or 0.0) for item in site.listeners)


@pytest.mark.slow
def test_a_confidence_is_kept_by_alternatives() -> None:
    """Each is as sure as asked by the judge's samples, and a no agrees with a search of every state."""
    count = closed = 0
    for seed in range(0, 48, 4):
        site = _surely(tiny_site(seed))
        plan = solve(site, Options(aims=AIMS)).plan
        if plan is None:
            continue
        found = alternatives(site, plan, MARGINS, Options(aims=AIMS))
        allowed = at_most(site, plan, MARGINS)
        shown = [plan.state, *(item.plan.state for item in found.found)]
        for item in found.found:
            assert not verify_plan(site, item.plan)
            assert _over_db(site, item.plan.state) <= allowed[Aim.SOUND] + SCATTER_DB
            assert {a: r.value for r in item.plan.aims if (a := r.aim) in allowed} == pytest.approx(
                {aim: aim_value(site, item.plan.state, ledger(site, item.plan.state), aim) for aim in allowed}
            )
        brute = Brute(site)
        for sort in found.none_left:
            near = [
                candidate
                for index, candidate in enumerate(brute.candidates)
                if all(candidate.values[aim] <= allowed[aim] + 1e-4 for aim in (Aim.POWER, Aim.COST))
                and brute.passes(index)
                and _over_db(site, candidate.state) <= allowed[Aim.SOUND] - SCATTER_DB
            ]
            assert not _others(site, near, sort, shown), (seed, sort)
        count, closed = count + len(found.found), closed + len(found.none_left)
    assert count >= 5
    assert closed >= 5
