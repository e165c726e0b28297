"""An earlier plan mended after an edit: what has its place stays, the rest goes home or where room is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.domain.plan import changes, places
from planner.domain.resources import Demand
from planner.domain.rules import Aim
from planner.domain.state import State
from planner.placement.optimise.initial_plan import construct_plan
from planner.placement.optimise.plan_repair import mend_plan
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.known_state import still_known
from planner.placement.studies.reoptimise import solve_again
from planner.verify import verify_state
from tests.kit.alike_boxes import reuse_site
from tests.kit.sites import tiny_site


@pytest.mark.slow
def test_what_must_be_physical_goes_home_and_nothing_else_moves() -> None:
    """Two guests that must not be guests any more: their boxes are on again, that is four differences."""
    site = reuse_site(20, 40, kinds=False)
    plan = solve(site, Options(aims=(Aim.POWER,))).plan
    assert plan is not None
    names = {"service-003", "service-007"}
    edited = replace(
        site,
        services=tuple(replace(s, physical="a dongle" if s.name in names else None) for s in site.services),
    )
    state = mend_plan(edited, plan.state)
    assert not verify_state(edited, state)
    before, after = places(plan.state), places(state)
    assert {name for name in before if before[name] != after[name]} == names
    assert changes(edited, state, plan.state) == 4
    again = solve_again(site, plan, edited).plan
    assert again is not None
    assert not verify_state(edited, again.state)


def test_a_new_service_joins_a_host_with_room() -> None:
    """One that is added to the site goes where the others are, and those stay."""
    site = reuse_site(10, 20, kinds=False)
    plan = solve(site, Options(aims=(Aim.POWER,))).plan
    assert plan is not None
    small = Demand((0.1,), (1.0,), (0.25,), (1.0,), (1.0,), (1.0,))
    off = next(box.name for box in site.boxes if box.name not in {m.box for m in plan.state.machines})
    boxes = tuple(replace(box, may_host=box.name != off) for box in site.boxes)
    more = replace(
        site, boxes=boxes, services=(*site.services, replace(site.services[0], name="new", demand=small))
    )
    state = mend_plan(more, plan.state)
    assert len(state.where("new")) == 1
    assert not verify_state(more, state)
    assert {name: where for name, where in places(state).items() if name != "new"} == places(plan.state)


def test_decisions_of_a_better_state_are_taken_with_the_company_of_the_earlier() -> None:
    """The same services on hosts, dealt out otherwise, come back to where they were: nothing differs."""
    site = reuse_site(12, 24, kinds=False)
    plan = solve(site, Options(aims=(Aim.POWER,))).plan
    assert plan is not None
    hosts = [machine for machine in plan.state.machines if machine.kind is None]
    turned = [
        replace(one, services=other.services) for one, other in zip(hosts, hosts[1:] + hosts[:1], strict=True)
    ]
    dealt = State(tuple(turned), plan.state.measures, plan.state.cooling)
    assert changes(site, dealt, plan.state) > 0
    assert changes(site, mend_plan(site, plan.state, dealt), plan.state) == 0


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(0, 40, 2))
def test_a_circuit_that_is_gone_is_no_trouble(seed: int) -> None:
    """After all circuits got other names, what hung on them hangs on those there are, planned again."""
    site = tiny_site(seed)
    plan = solve(site).plan
    if plan is None:
        pytest.skip("there is no plan to mend")
    circuits = tuple(replace(item, name=f"{item.name} anew") for item in site.supply.circuits)
    edited = replace(
        site,
        supply=replace(site.supply, circuits=circuits),
        boxes=tuple(replace(item, circuit=f"{item.circuit} anew") for item in site.boxes),
        gear=tuple(replace(item, circuit=f"{item.circuit} anew") for item in site.gear),
        cooling=tuple(replace(item, circuit=f"{item.circuit} anew") for item in site.cooling),
    )
    state = mend_plan(edited, still_known(edited, plan.state))
    assert all(machine.circuit in edited.circuit for machine in state.machines)
    construct_plan(edited, 0, still_known(edited, plan.state))
    assert solve_again(site, plan, edited).plan is not None


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 60, 20))
def test_what_is_not_edited_is_not_mended(first: int) -> None:
    """The plan of an unedited site comes back as it was, and is as good a first plan as any."""
    for site in map(tiny_site, range(first, first + 20)):
        plan = solve(site).plan
        if plan is None:
            continue
        state = mend_plan(site, still_known(site, plan.state))
        assert changes(site, state, plan.state) == 0
        assert not verify_state(site, state)
        assert construct_plan(site, 0, plan.state) is not None
