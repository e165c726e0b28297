"""Planning again after an edit: changes are counted from the last plan, and are as few as they can be."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.domain.plan import AimResult, Outcome, Plan, changes
from planner.domain.rules import Aim, Apart, Together
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.optimise.proofs import ZERO
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.reoptimise import solve_again, still_best
from planner.placement.studies.restriction import narrower
from planner.verify import verify_plan
from tests.kit.sites import tiny_site
from tests.oracles.brute import Brute

AIMS = (Aim.SOUND, Aim.POWER, Aim.COST, Aim.CHANGE)
CLOSE = 1e-3


def _edited(site: Site, seed: int) -> Site:
    """Make the site with one thing changed, in turn: a service, a price, a measure, the inlet limit."""
    if seed % 4 == 0:
        first = replace(site.services[0], physical="it must be reached by hand")
        return replace(site, services=(first, *site.services[1:]))
    if seed % 4 == 1:
        return replace(site, kinds=tuple(replace(kind, price=kind.price + 400.0) for kind in site.kinds))
    if seed % 4 == 2:
        return replace(site, measures=tuple(replace(item, allowed=False) for item in site.measures))
    return replace(site, policy=replace(site.policy, inlet_limit_c=site.policy.inlet_limit_c - 2.0))


def _fewest_changes(brute: Brute, plan: Plan, previous: State) -> float:
    """Compute the fewest differences from a state among all states as good as a plan in the other aims."""
    reached = {result.aim: result.value for result in plan.aims}
    equal = [
        index
        for index, found in enumerate(brute.candidates)
        if all(found.values[aim] <= reached[aim] + CLOSE for aim in AIMS[:3])
    ]
    return min(
        changes(brute.site, brute.candidates[index].state, previous) for index in equal if brute.passes(index)
    )


@pytest.mark.slow
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


@pytest.mark.slow
def test_nothing_edited_nothing_changed() -> None:
    """Planned again from its own plan, a site's plan differs in nothing."""
    for seed in range(0, 40, 3):
        before = solve(tiny_site(seed), Options(aims=AIMS)).plan
        if before is not None:
            again = solve(tiny_site(seed), Options(aims=AIMS, start=before.state, previous=before.state)).plan
            assert again is not None
            assert again.aims[-1] == AimResult(Aim.CHANGE, 0.0, 0.0, True, ZERO)


def test_the_judge_counts_for_itself() -> None:
    """A plan that says it differs less from the last one than it does is refused."""
    site = tiny_site(3)
    plan = solve(site, Options(aims=AIMS)).plan
    assert plan is not None
    emptied = State((), frozenset(), {})
    claim = AimResult(Aim.CHANGE, 0.0, 0.0, True)
    boast = Plan(plan.state, (claim,), Outcome.PROVEN, previous=emptied)
    assert {breach.rule for breach in verify_plan(site, boast)} == {"aim_value"}


def _narrowed(site: Site, seed: int) -> Site:
    """Make the site with less allowed in one way, in turn."""
    policy, first = site.policy, site.services[0]
    services = site.services[1:]
    memory = tuple(2.0 * value for value in first.demand.memory_gib)
    return (
        replace(site, services=(replace(first, physical="an edit"), *services)),
        replace(site, services=(replace(first, demand=replace(first.demand, memory_gib=memory)), *services)),
        replace(site, measures=tuple(replace(item, allowed=False) for item in site.measures)),
        replace(site, policy=replace(policy, inlet_limit_c=policy.inlet_limit_c - 1.0)),
        replace(site, apart=(*site.apart, Apart(frozenset(s.name for s in site.services[:2]), "an edit"))),
        replace(site, kinds=tuple(replace(kind, price=kind.price + 50.0) for kind in site.kinds)),
        replace(site, policy=replace(policy, budget=1200.0)),
        replace(site, together=(*site.together, Together(frozenset((first.name, services[0].name)), "edit"))),
    )[seed % 8]


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(72))
def test_an_old_proof_that_holds_is_right(seed: int) -> None:
    """An edit that only takes away is known, and a plan kept by its old proof is the best."""
    site = tiny_site(seed)
    last = solve(site, Options(aims=AIMS)).plan
    if last is None:
        return
    edited = _narrowed(site, seed)
    limit = site.policy.budget
    assert narrower(site, edited) or (limit is not None and limit < 1200.0)
    kept = still_best(site, last, edited, Options(aims=AIMS))
    if kept is not None:
        anew = solve(edited, Options(aims=AIMS, previous=last.state)).plan
        assert anew is not None
        for mine, theirs in zip(kept.aims, anew.aims, strict=True):
            assert mine.value == pytest.approx(theirs.value, abs=1e-3)
        assert kept.state == last.state


@pytest.mark.slow
def test_old_proofs_hold_often_and_not_always() -> None:
    """Of the edits above some keep the last plan and some do not, so that agreement says something."""
    kept = []
    for seed in range(72):
        last = solve(tiny_site(seed), Options(aims=AIMS)).plan
        if last is not None:
            edited = _narrowed(tiny_site(seed), seed)
            kept.append(still_best(tiny_site(seed), last, edited, Options(aims=AIMS)) is not None)
    assert kept.count(True) >= 10
    assert kept.count(False) >= 10


@pytest.mark.parametrize("seed", [seed for seed in range(48) if seed % 8 in (1, 3, 5)])
def test_what_allows_more_is_not_narrower(seed: int) -> None:
    """The way back from more memory taken, a cooler limit or a price raised does not count as taking away."""
    site = tiny_site(seed)
    assert not narrower(_narrowed(site, seed), site)
    assert narrower(site, site)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(0, 40, 4))
def test_planned_again_is_as_good_as_planned_anew(seed: int) -> None:
    """From the last plan or from nothing, the aims come out the same."""
    site = tiny_site(seed)
    last = solve(site, Options(aims=AIMS)).plan
    if last is None:
        return
    edited = _edited(site, seed // 4)
    again = solve_again(site, last, edited, Options(aims=AIMS)).plan
    anew = solve(edited, Options(aims=AIMS, previous=last.state)).plan
    assert (again is None) == (anew is None)
    if again is not None and anew is not None:
        assert not verify_plan(edited, again)
        for mine, theirs in zip(again.aims, anew.aims, strict=True):
            assert mine.value == pytest.approx(theirs.value, abs=1e-3)


def _without_last_service_and_first_kind(site: Site) -> Site:
    gone = site.services[-1].name
    kept = tuple(item for item in site.services if item.name != gone and gone not in item.depends_on)
    names = {item.name for item in kept}
    return replace(
        site,
        services=kept,
        together=tuple(rule for rule in site.together if rule.services <= names),
        apart=tuple(rule for rule in site.apart if rule.services <= names),
        quorums=tuple(rule for rule in site.quorums if rule.services <= names),
        kinds=site.kinds[1:],
    )


@pytest.mark.slow
def test_what_is_gone_from_the_site_is_gone_from_the_last_plan() -> None:
    """A service and a kind are removed: the rest is planned again from the last plan, and judged."""
    planned = 0
    for seed in range(0, 30, 3):
        site = tiny_site(seed)
        plan = solve(site, Options(aims=AIMS)).plan
        if plan is None:
            continue
        smaller = _without_last_service_and_first_kind(site)
        again = solve_again(site, plan, smaller, Options(aims=AIMS)).plan
        if again is None:
            continue
        planned += 1
        assert not verify_plan(smaller, again)
        assert again.previous is not None
        carried = {name for machine in again.previous.machines for name in machine.services}
        assert carried <= set(smaller.service)
    assert planned >= 4
