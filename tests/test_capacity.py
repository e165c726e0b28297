"""What services take and machines have: by hand, against the judge's own sums, as a table without gaps."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner import capacity
from planner.domain.machines import Role, Spec
from planner.domain.resources import INSTALLED, RESOURCES, Demand
from planner.domain.state import Machine
from planner.eligibility import candidates
from planner.inventory.models.resources import HasModel, HeadroomModel, TakesModel
from planner.verify.plan.capacity import limit, load
from tests.kit.plain import demand
from tests.kit.sites import plain_site, random_site

SITE = plain_site()
GUESTS = tuple(replace(item, demand=demand(2.0, 8.0)) for item in SITE.services[:2])


@pytest.mark.parametrize(
    ("role", "resource", "taken"),
    [
        (Role.HOST, "cpu", 2 * 2.0 * 1.1),  # a host's own share of the CPU is a tenth
        (Role.HOST, "memory_gib", 2 * (8.0 + 0.5)),  # each guest costs half a GiB more
        (Role.HOST, "disk_gb", 2 * 100.0),
        (Role.TOWER, "cpu", 2 * 2.0),
        (Role.TOWER, "memory_gib", 2 * 8.0),
    ],
)
def test_what_two_services_take(role: Role, resource: str, taken: float) -> None:
    assert capacity.needed(SITE, role, [GUESTS], resource, 0) == pytest.approx([taken])
    assert capacity.most_needed(SITE, role, GUESTS, resource) == pytest.approx(taken)


def test_the_worst_hour_is_that_of_the_sum() -> None:
    """4 + 1, 1 + 1 and 1 + 3 cores: the first hour, 5 in all, and a steady service counts in each."""
    one = replace(GUESTS[0], demand=Demand((4.0, 1.0, 1.0)))
    two = replace(GUESTS[1], demand=Demand((1.0, 1.0, 3.0)))
    steady = replace(GUESTS[1], demand=Demand((2.0,)))
    assert capacity.most_needed(SITE, Role.BARE, [one, two], "cpu") == 5.0
    assert capacity.most_needed(SITE, Role.BARE, [one, two, steady], "cpu") == 7.0


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000))
def test_the_judge_adds_up_the_same(seed: int) -> None:
    """Two codes for one sum: every machine there may be, empty and with two services, in every hour."""
    site = random_site(seed)
    services = site.services[:2]
    for candidate in candidates(site):
        kind = None if candidate.sort == "box" else candidate.ref
        box = candidate.ref if kind is None else None
        names = tuple(service.name for service in services)
        full = Machine(candidate.ref, candidate.role, site.supply.circuits[0].name, names, box, kind)
        spec = candidate.spec(site)
        for resource in RESOURCES:
            assert capacity.limit(site, spec, full.role, resource) == pytest.approx(
                limit(site, full, resource)
            )
            own = capacity.own(site, full.role, resource)
            assert own == load(site, replace(full, services=()), resource, 0)
            loads = [load(site, full, resource, hour) for hour in range(site.slots)]
            needed = [
                capacity.needed(site, full.role, [services], resource, hour)[0] for hour in range(site.slots)
            ]
            assert [each + own for each in needed] == pytest.approx(loads)
            assert capacity.most_needed(site, full.role, services, resource) + own == pytest.approx(
                max(loads)
            )


def test_every_resource_is_written_demanded_and_had() -> None:
    """A row of the table is a field of demands and machines, and a person writes it by its key."""
    assert {item.name for item in fields(Demand)} == {*RESOURCES}
    assert {*INSTALLED} <= {item.name for item in fields(Spec)}
    assert {*HeadroomModel.model_fields} == {RESOURCES[name].key for name in INSTALLED}
    for model, names in ((HasModel, INSTALLED), (TakesModel, (*RESOURCES,))):
        keys = {name: model.model_fields[name].alias or name for name in names}
        assert keys == {name: RESOURCES[name].key for name in names}
