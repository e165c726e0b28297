"""Planning again after an edit: changes are counted from the last plan, and are as few as they can be."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.placement import Options, solve
from planner.plan import AimResult, Outcome, Plan, changes
from planner.site import Aim, Site
from planner.state import State
from planner.verify import verify_plan
from tests.oracles.brute import Brute
from tests.sitegen import tiny_site

AIMS = (Aim.SOUND, Aim.POWER, Aim.COST, Aim.CHANGE)
CLOSE = 1e-3


def _edited(site: Site, seed: int) -> Site:
    """Give the site with one thing changed, in turn: a service, a price, a measure, the inlet limit."""
    if seed % 4 == 0:
        first = replace(site.services[0], physical="it must be reached by hand")
        return replace(site, services=(first, *site.services[1:]))
    if seed % 4 == 1:
        return replace(site, kinds=tuple(replace(kind, price=kind.price + 400.0) for kind in site.kinds))
    if seed % 4 == 2:
        return replace(site, measures=tuple(replace(item, allowed=False) for item in site.measures))
    return replace(site, policy=replace(site.policy, inlet_limit_c=site.policy.inlet_limit_c - 2.0))


def _fewest_changes(brute: Brute, plan: Plan, previous: State) -> float:
    """Give the fewest differences from a state among all states as good as a plan in the other aims."""
    reached = {result.aim: result.value for result in plan.aims}
    equal = [
        index
        for index, found in enumerate(brute.candidates)
        if all(found.values[aim] <= reached[aim] + CLOSE for aim in AIMS[:3])
    ]
    return min(
        changes(brute.site, brute.candidates[index].state, previous) for index in equal if brute.passes(index)
    )


@pytest.mark.parametrize("seed", range(60))
def test_no_plan_as_good_differs_less_from_the_last(seed: int) -> None:
    """After an edit, no state as good in the earlier aims differs in less from the plan before it."""
    site = tiny_site(seed)
    before = solve(site, Options(aims=AIMS)).plan
    if before is None:
        return
    edited = _edited(site, seed)
    options = Options(aims=AIMS, start=before.state, previous=before.state)
    plan = solve(edited, options).plan
    brute = Brute(edited)
    assert (plan is None) == (brute.best(AIMS).state is None)
    if plan is not None:
        assert plan.proven
        assert plan.previous == before.state
        assert not verify_plan(edited, plan)
        change = next(result.value for result in plan.aims if result.aim is Aim.CHANGE)
        assert change == _fewest_changes(brute, plan, before.state)


def test_nothing_edited_nothing_changed() -> None:
    """Planned again from its own plan, a site's plan differs in nothing."""
    for seed in range(0, 40, 3):
        before = solve(tiny_site(seed), Options(aims=AIMS)).plan
        if before is not None:
            again = solve(tiny_site(seed), Options(aims=AIMS, start=before.state, previous=before.state)).plan
            assert again is not None
            assert again.aims[-1] == AimResult(Aim.CHANGE, 0.0, 0.0, True)


def test_the_judge_counts_for_itself() -> None:
    """A plan that says it differs less from the last one than it does is refused."""
    site = tiny_site(3)
    plan = solve(site, Options(aims=AIMS)).plan
    assert plan is not None
    emptied = State((), frozenset(), {})
    claim = AimResult(Aim.CHANGE, 0.0, 0.0, True)
    boast = Plan(plan.state, (claim,), Outcome.PROVEN, previous=emptied)
    assert {breach.rule for breach in verify_plan(site, boast)} == {"aim_value"}
