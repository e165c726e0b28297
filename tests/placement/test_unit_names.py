"""Units of a kind never take a name that something else has, whatever a person calls things."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from itertools import islice

import pytest

from planner.domain.machines import Role
from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.domain.state import Machine, State, unit_names, with_free_names
from planner.moves import order
from planner.placement.formulation import build
from planner.placement.formulation.acoustic import Hearing
from planner.placement.formulation.problem import prepare
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.forced_assignment import forced
from planner.placement.studies.reoptimise import solve_again
from planner.report.plan.json_file import dump, read
from planner.verify import verify_plan
from tests.kit.sites import plain_site, tiny_site
from tests.oracles.order import values_of
from tests.placement import reworked

SHARED = ("host-1", "host-2", "host-1-1", "host-1-2", "host-1@host", "host/default", "host-1/default", "h")
SHARED_MORE = ("host-3", "host-1-3", "host-1-1@host", "host-1-1-1", "h-1", "h@host", "host-1-2~1", "host-02")
SERVICES = ("host-1", "host-4", "host", "a", "a+b", "b", "a@host-1", "host-1-4", "a/b")
"""Services have a space of their own, so they may be called like a box."""


def clashing(site: Site, seed: int) -> Site:
    """Make a site with names that end and begin alike, as far as an inventory takes them."""
    rng = random.Random(seed)
    kinds = dict(zip(site.kind, rng.sample(["host", "host-1"], 2), strict=False))
    things = [*site.box, *site.cooling_option, *(item.name for item in site.gear), *site.measure]
    free = [name for name in (*SHARED, *SHARED_MORE) if name not in kinds.values()]
    named = {**kinds, **dict(zip(things, rng.sample(free, len(things)), strict=True))}
    named |= dict(zip(site.service, rng.sample(SERVICES, len(site.service)), strict=True))
    return reworked.renamed(site, lambda name: named[name])


def plan_of(site: Site) -> Plan | None:
    """Plan a site; what is called what is held against the rule that no two things share a name."""
    plan = solve(site, Options()).plan
    if plan is not None:
        names = [machine.name for machine in plan.state.machines]
        assert len({*names}) == len(names)
        units = {machine.name for machine in plan.state.machines if machine.kind is not None}
        assert not units & site.names
        assert not verify_plan(site, plan)
    return plan


def values(site: Site, plan: Plan | None) -> list[float]:
    """List the values of a plan in the order of the aims."""
    return [] if plan is None else [values_of(site, plan.state)[aim] for aim in site.policy.aims]


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 60, 10))
def test_clashing_names_change_nothing(first: int) -> None:
    """A plan is as good as with plain names, is read again from its file, and can be moved to."""
    with_units = 0
    for seed in range(first, first + 10):
        plain = tiny_site(seed)
        site = clashing(plain, seed)
        plan = plan_of(site)
        assert values(site, plan) == pytest.approx(values(plain, solve(plain).plan), abs=1e-3)
        if plan is None:
            continue
        with_units += any(machine.kind is not None for machine in plan.state.machines)
        assert read(site, json.loads(json.dumps(dump(site, plan)))) == plan
        found = order(site, plan.state)
        told = [task.id for wave in found.waves for task in wave.tasks]
        assert len({*told}) == len(told)
    assert with_units > 0


@pytest.mark.slow
@pytest.mark.parametrize("seed", [3, 5, 9])
def test_why_tells_each_machine_once(seed: int) -> None:
    """Forced places under clashing names: every box and kind once, each plan judged as ever."""
    sites = (clashing(tiny_site(number), number) for number in range(seed, seed + 90))
    site = next(site for site in sites if plan_of(site) is not None)
    plan = plan_of(site)
    assert plan is not None
    told = [(item.machine, item.sort) for item in forced(site, plan, site.services[0].name, solve=solve)]
    assert sorted(told) == sorted([*((b, "box") for b in site.box), *((k, "kind") for k in site.kind)])


def test_two_kinds_share_no_name() -> None:
    """The units of `a` are a-3, a-4 …, for a-1 and a-2 are taken; those of `a-1` are a-1-1, a-1-2 …"""
    site = plain_site()
    box, kind = replace(site.boxes[0], name="a-2"), site.kinds[0]
    kinds = replace(kind, name="a"), replace(kind, name="a-1")
    site = replace(site, boxes=(box,), kinds=kinds, services=())
    assert list(islice(unit_names(site, "a"), 3)) == ["a-3", "a-4", "a-5"]
    assert list(islice(unit_names(site, "a-1"), 3)) == ["a-1-1", "a-1-2", "a-1-3"]


@pytest.mark.parametrize("seed", range(20))
def test_every_slot_has_a_key_of_its_own(seed: int) -> None:
    """Pooled or written out unit by unit, and no key is that of gear or of cooling either."""
    site = clashing(tiny_site(seed), seed)
    others = {*site.cooling_option, *(item.name for item in site.gear)}
    for single in (frozenset[str](), frozenset(site.kind)):
        keys = [slot.key for slot in prepare(site, single).slots]
        assert len({*keys}) == len(keys)
        assert not others & {*keys}


def test_every_listener_has_rows_of_its_own() -> None:
    """Two listeners and two seasons, whose names run into each other, are four rows a variant and band."""
    site = plain_site()
    ear, season = site.listeners[0], site.seasons[0]
    site = replace(
        site,
        cooling=(),
        listeners=(replace(ear, name="a", target_dba=40.0), replace(ear, name="a@b", target_dba=30.0)),
        seasons=(replace(season, name="b@c", quiet=True), replace(season, name="c", quiet=True)),
    )
    model = build(prepare(site))
    pairs = len(model.room) // len(site.seasons)
    assert len(Hearing(model).rows(0.0)) == 2 * 2 * pairs


def test_a_unit_gives_way_to_what_takes_its_name() -> None:
    """After an edit brings in a box called like a unit of the last plan, the unit gets the next free name."""
    site = plain_site()
    plan = solve(site).plan
    assert plan is not None
    unit = next(machine for machine in plan.state.machines if machine.kind is not None)
    more = replace(site, boxes=(*site.boxes, replace(site.boxes[0], name=unit.name)))
    state = with_free_names(more, plan.state)
    assert unit.name not in [machine.name for machine in state.machines]
    assert [m.services for m in state.machines] == [m.services for m in plan.state.machines]
    again = solve_again(site, plan, more).plan
    assert again is not None
    assert not verify_plan(more, again)


def test_two_units_of_one_name_are_told_apart() -> None:
    """The first keeps its name; the other gets one that neither the site nor the state has."""
    site = plain_site()
    kind = site.kinds[0].name
    circuit = site.supply.circuits[0].name
    units = [Machine(f"{kind}-2", Role.HOST, circuit, (), kind=kind) for _ in range(2)]
    assert [m.name for m in with_free_names(site, State(tuple(units))).machines] == [f"{kind}-2", f"{kind}-1"]
