"""What must hold for the ledger of any site and state."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.air import Cooling, Season
from planner.domain.machines import Role
from planner.domain.site import Site
from planner.domain.sound import Sound
from planner.domain.state import Machine, State
from planner.eligibility import candidates
from planner.ledger import Ledger, climate, ledger
from planner.ledger.sums import heat_w
from planner.physics import air
from planner.physics.sound import energy
from tests.kit.sites import random_site
from tests.kit.states import random_state

Thing = TypeVar("Thing")
SEEDS = st.integers(0, 10_000)
AIR_J_M3_K = 1.2 * 1006.0


def _case(seed: int) -> tuple[Site, State]:
    site = random_site(seed, seasons=3)
    return site, random_state(site, seed)


def _levels(book: Ledger) -> list[float]:
    return [level for season in book.seasons for level in season.levels_dba.values()]


def _shuffled(items: Sequence[Thing], rng: random.Random) -> tuple[Thing, ...]:
    return tuple(rng.sample(list(items), len(items)))


def _quieter(sound: Sound, by_db: float) -> Sound:
    idle, loaded = (tuple(level - by_db for level in row) for row in (sound.idle_db, sound.loaded_db))
    return replace(sound, idle_db=idle, loaded_db=loaded)


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_another_machine_never_lowers_a_level_or_a_temperature(seed: int) -> None:
    site, state = _case(seed)
    before = ledger(site, state)
    for option in candidates(site):
        if option.sort == "kind":
            extra = Machine("one-more", option.role, site.supply.circuits[0].name, (), kind=option.ref)
            after = ledger(site, replace(state, machines=(*state.machines, extra)))
            rises = zip(_levels(before), _levels(after), strict=True)
            assert all(new >= old - 1e-9 for old, new in rises)
            assert all(
                new.temperature_c >= old.temperature_c - 1e-9
                for old, new in zip(before.seasons, after.seasons, strict=True)
            )


@settings(max_examples=60, deadline=None)
@given(SEEDS, st.sampled_from((0.5, 3.0, 20.0)))
def test_a_quieter_source_never_raises_a_level(seed: int, by_db: float) -> None:
    site, state = _case(seed)
    boxes = tuple(
        replace(box, spec=replace(box.spec, sound=_quieter(box.spec.sound, by_db))) for box in site.boxes
    )
    gear = tuple(replace(item, sound=_quieter(item.sound, by_db)) for item in site.gear)
    before = _levels(ledger(site, state))
    for quieter in (replace(site, boxes=boxes), replace(site, gear=gear)):
        after = _levels(ledger(quieter, state))
        assert all(new <= old + 1e-9 for old, new in zip(before, after, strict=True))


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_order_does_not_matter(seed: int) -> None:
    site, state = _case(seed)
    rng = random.Random(seed)
    mixed = replace(
        site,
        boxes=_shuffled(site.boxes, rng),
        services=_shuffled(site.services, rng),
        gear=_shuffled(site.gear, rng),
        cooling=_shuffled(site.cooling, rng),
        measures=_shuffled(site.measures, rng),
        kinds=_shuffled(site.kinds, rng),
        listeners=_shuffled(site.listeners, rng),
    )
    book, other = ledger(site, state), ledger(mixed, replace(state, machines=_shuffled(state.machines, rng)))
    assert other.levels_dba == pytest.approx(dict(book.levels_dba), rel=1e-12)
    assert other.circuits_w == pytest.approx(dict(book.circuits_w), rel=1e-12)
    assert other.mean_power_w == pytest.approx(book.mean_power_w, rel=1e-12)
    assert other.rack_u == book.rack_u


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_heat_in_is_heat_out(seed: int) -> None:
    site, state = _case(seed)
    for season in site.seasons:
        warm_c = ledger(site, state).season(season.name).temperature_c
        chilled_w = heat_w(site, state, season) - _by_walls_and_air_w(site, state, season, warm_c)
        working = [
            (option.setpoint_c, option.removal[season.name].capacity_w) for option in _on(site, state, season)
        ]
        surely = sum(watts for setpoint, watts in working if setpoint is None or setpoint < warm_c)
        at_most = sum(watts for setpoint, watts in working if setpoint is None or setpoint <= warm_c)
        assert surely - 1e-6 <= chilled_w <= at_most + 1e-6


def _on(site: Site, state: State, season: Season) -> list[Cooling]:
    return [option for option in site.cooling if option.name in state.cooling[season.name]]


def _by_walls_and_air_w(site: Site, state: State, season: Season, room_c: float) -> float:
    effects = [site.measure[name].room_effect for name in state.measures]
    ua_w_k = site.room.ua_w_k + sum(effect.ua_delta_w_k for effect in effects if effect)
    leak_m3_s = site.room.leak_m3_s + sum(effect.leak_delta_m3_s for effect in effects if effect)
    flows = [(max(0.0, leak_m3_s), season.surroundings_c)]
    flows += [
        (option.removal[season.name].flow_m3_s, option.removal[season.name].supply_c)
        for option in _on(site, state, season)
    ]
    w_m3_s = AIR_J_M3_K * air.density_ratio(site.room.altitude_m)
    by_air_w = sum(flow * w_m3_s * (room_c - supply_c) for flow, supply_c in flows)
    return ua_w_k * (room_c - season.surroundings_c) + by_air_w


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_the_room_is_under_its_limit_just_when_the_capacities_at_the_limit_suffice(seed: int) -> None:
    site, state = _case(seed)
    limit_c = site.policy.inlet_limit_c
    for season in site.seasons:
        capacity_w = climate.room_capacity_w(site, season, state.measures, limit_c)
        capacity_w += sum(
            climate.option_capacity_w(site, season, each, limit_c) for each in _on(site, state, season)
        )
        spare_w = capacity_w - heat_w(site, state, season)
        if abs(spare_w) > 1e-6:
            assert (spare_w > 0.0) == (ledger(site, state).season(season.name).temperature_c <= limit_c)


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_a_level_is_the_energy_of_its_sources(seed: int) -> None:
    site, state = _case(seed)
    for season in ledger(site, state).seasons:
        for listener, level in season.levels_dba.items():
            parts = sum(energy(source.levels_dba[listener]) for source in season.sources)
            assert energy(level) == pytest.approx(parts, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_a_bare_box_that_becomes_a_host_never_draws_less(seed: int) -> None:
    site, state = _case(seed)
    hosted = tuple(replace(m, role=Role.HOST) if m.role is Role.BARE else m for m in state.machines)
    after = ledger(site, replace(state, machines=hosted))
    assert after.mean_power_w >= ledger(site, state).mean_power_w - 1e-9
