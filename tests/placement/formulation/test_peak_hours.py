"""Load by the hour: what may be dropped, what must not, and what it saves that peaks do not coincide."""

from __future__ import annotations

import random
from dataclasses import replace
from unittest.mock import patch

import pytest

from planner.domain.plan import Outcome
from planner.domain.resources import Demand
from planner.domain.rules import Aim
from planner.domain.services import Service
from planner.domain.site import Site
from planner.placement.formulation import capacity_rows, failover_rows
from planner.placement.formulation import peak_hours as hours_module
from planner.placement.formulation.peak_hours import binding_hours
from planner.placement.formulation.problem import Item
from planner.placement.params import PARAMS
from planner.placement.solve import solve
from planner.placement.studies.coincident_peaks import in_one_hour, peaks
from planner.verify import verify_state
from tests.benchmarks.generated import generated_site, with_profiles
from tests.kit.sites import medium_site, plain_site
from tests.oracles.order import alike, values_of
from tests.placement.failover.spare_sites import spare_site

CLOSE = dict.fromkeys(Aim, 1e-3)
HOURS = 6


def _items(rng: random.Random, count: int) -> list[Item]:
    """List services with a CPU profile of some hours, in few steps, so that hours dominate each other."""
    flat = Demand((1.0,), (1.0,), (1.0,), (1.0,), (1.0,), (1.0,))
    found = []
    for index in range(count):
        profile = tuple(float(rng.choice((0, 1, 1, 2))) for _ in range(HOURS))
        demand = replace(flat, cpu=profile if rng.random() < 0.8 else (1.0,))
        found.append(Item(index, (Service(f"app-{index}", "alder", demand),)))
    return found


def _taken(item: Item, hour: int) -> float:
    return sum(service.demand.at("cpu", hour) for service in item.services)


@pytest.mark.parametrize("seed", range(60))
def test_a_dropped_hour_never_binds(seed: int) -> None:
    """Whichever of the items share a machine, it is no fuller in any hour than in the kept ones."""
    rng = random.Random(seed)
    items = _items(rng, rng.randint(1, 6))
    kept = binding_hours(HOURS, items, "cpu")
    for _ in range(40):
        chosen = [item for item in items if rng.random() < 0.5]
        loads = [sum(_taken(item, hour) for item in chosen) for hour in range(HOURS)]
        assert max(loads) == max(loads[hour] for hour in kept)


@pytest.mark.parametrize("seed", range(60))
def test_no_kept_hour_could_be_dropped(seed: int) -> None:
    """Of two kept hours each has an item that takes more in it; equal hours are kept once."""
    items = _items(random.Random(seed), 4)
    kept = binding_hours(HOURS, items, "cpu")
    for one in kept:
        for other in kept:
            if one != other:
                assert any(_taken(item, one) > _taken(item, other) for item in items)


def test_hours_dropped_by_hand() -> None:
    """(1, 0), (0, 1), (1, 1), (1, 1): the third covers all; without it the first two remain."""
    one = Item(0, (replace(plain_site().services[0], demand=_cpu(1.0, 0.0, 1.0, 1.0)),))
    two = Item(1, (replace(plain_site().services[0], demand=_cpu(0.0, 1.0, 1.0, 1.0)),))
    assert binding_hours(4, [one, two], "cpu") == [2]
    short = [replace(item, services=(_first_two(item.services[0]),)) for item in (one, two)]
    assert binding_hours(2, short, "cpu") == [0, 1]
    assert binding_hours(4, [one, two], "memory_gib") == [0]


def _first_two(service: Service) -> Service:
    return replace(service, demand=replace(service.demand, cpu=service.demand.cpu[:2]))


def _cpu(*profile: float) -> Demand:
    return Demand(profile, (1.0,), (1.0,), (1.0,), (1.0,), (1.0,))


def _all_hours(hours: int, items: object, resource: str) -> list[int]:
    del items, resource
    return list(range(hours))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(0, 30))
def test_the_same_plan_with_every_hour_written(seed: int) -> None:
    """Writing the dropped hours as well gives a plan as good, or none as well; spare hosts included."""
    site = spare_site(2000 + seed, slots=3) if seed % 2 else medium_site(seed, 8)
    if site.slots == 1:
        site = _profiled(site, seed)
    fewer = solve(site)
    rows = patch.object(capacity_rows, "binding_hours", _all_hours)
    with rows, patch.object(failover_rows, "binding_hours", _all_hours):
        every = solve(site)
    assert fewer.outcome is every.outcome
    if fewer.plan is not None and every.plan is not None:
        assert alike(values_of(site, fewer.plan.state), values_of(site, every.plan.state), CLOSE)


def _profiled(site: Site, seed: int, hours: int = 3) -> Site:
    """Make a site whose services take their CPU in some hours only."""
    rng = random.Random(seed)
    services = []
    for service in site.services:
        profile = tuple(service.demand.cpu[0] * rng.choice((0.25, 0.5, 1.0)) for _ in range(hours))
        services.append(replace(service, demand=replace(service.demand, cpu=profile)))
    return replace(site, services=tuple(services), slots=hours)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(0, 20))
def test_hours_added_when_needed_give_the_same(seed: int) -> None:
    """Starting from one hour and adding those that an answer overfills ends as good as with all hours."""
    site = _profiled(medium_site(seed, 7), seed)
    every = solve(site)
    one_hour = replace(PARAMS, formulation=replace(PARAMS.formulation, many_hours=1, first_hours=1))
    with patch.object(hours_module, "PARAMS", one_hour):
        added = solve(site)
    assert added.outcome is every.outcome
    if added.plan is not None and every.plan is not None:
        assert verify_state(site, added.plan.state) == ()
        assert alike(values_of(site, added.plan.state), values_of(site, every.plan.state), CLOSE)


@pytest.mark.slow
def test_a_week_of_load() -> None:
    """Twenty services with 168 hours: the plan holds in each, and takes no more than one for the peaks."""
    site = with_profiles(generated_site(20, aims=(Aim.POWER,)))
    result = solve(site)
    assert result.outcome is Outcome.PROVEN
    assert result.plan is not None
    found = peaks(site, result.plan, solve=solve)
    assert found is not None
    assert found.summed_power_w is not None
    assert found.summed_power_w >= found.power_w - 1e-3


def test_all_peaks_in_one_hour() -> None:
    """The peak stands first, the mean stays: 1, 3, 2 become 3, 1.5, 1.5."""
    site = plain_site()
    services = tuple(replace(item, demand=_cpu(1.0, 3.0, 2.0)) for item in site.services)
    summed = in_one_hour(replace(site, services=services, slots=3))
    for service in summed.services:
        assert service.demand.cpu == (3.0, 1.5, 1.5)
        assert service.demand.mean_cpu == 2.0


def test_peaks_that_do_not_coincide_save_a_host() -> None:
    """Three services that take 8 cores, each in an hour of its own, fit one host; their sum of 24 does not.

    A host gives 16 cores less 25 % = 12, which is 10.9 for guests.
    """
    site = plain_site()
    services = tuple(
        replace(
            site.services[0],
            name=f"app-{number}",
            box="alder",
            demand=replace(_cpu(*(8.0 if hour == number else 0.5 for hour in range(3))), disk_gb=(50.0,)),
        )
        for number in range(3)
    )
    spec = replace(site.box["alder"].spec, cpu=32.0, memory_gib=64.0)
    boxes = tuple(replace(item, spec=spec) if item.name == "alder" else item for item in site.boxes)
    kinds = tuple(replace(kind, max_units=3) for kind in site.kinds)
    policy = replace(site.policy, aims=(Aim.SOUND, Aim.POWER))
    site = replace(site, services=services, boxes=boxes, kinds=kinds, policy=policy, slots=3)
    plan = solve(site).plan
    assert plan is not None
    found = peaks(site, plan, solve=solve)
    assert found is not None
    assert found.hosts == 1
    assert (found.summed_hosts or 0) != 1
    assert (found.summed_power_w or 0.0) > found.power_w
    assert found.proven


def test_no_profiles_no_comparison() -> None:
    """A site whose loads are the same at every hour has nothing to compare."""
    site = plain_site()
    plan = solve(site).plan
    assert plan is not None
    assert peaks(site, plan, solve=solve) is None
