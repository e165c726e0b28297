"""No source draws less than 0 W and no chiller cools below its set point, in any state of any site."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from planner.domain.air import Cooling, Season
from planner.domain.measures import Measure, SourceEffect
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import draw, ledger
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.verify import verify_plan
from tests.kit.sites import random_site, tiny_site
from tests.kit.states import random_state
from tests.oracles.brute import Brute

AIR_J_M3_K = 1.2 * 1006.0
STATES = 150


def greedy_savings(site: Site, rng: random.Random) -> Site:
    """Make a site with a measure on some sources that would save more than they draw."""
    draws = {box.name: box.spec.idle_w for box in site.boxes}
    draws.update((gear.name, gear.power_w) for gear in site.gear)
    chosen = rng.sample(sorted(draws), min(2, len(draws)))
    measures = tuple(
        Measure(f"save-{name}", name, SourceEffect(power_delta_w=-rng.choice((0.5, 1.0, 1.5)) * draws[name]))
        for name in chosen
    )
    return replace(site, measures=(*site.measures[:1], *measures))


@pytest.mark.parametrize("seed", range(STATES))
def test_nothing_draws_less_than_nothing(seed: int) -> None:
    """Machines, gear, cooling and circuits of random states stay at 0 W or more, whatever measures save."""
    site = greedy_savings(random_site(seed), random.Random(seed))
    state = random_state(site, seed)
    watts = [draw.machine_w(site, machine, state.measures) for machine in state.machines]
    watts += [draw.machine_peak_w(site, machine, state.measures) for machine in state.machines]
    watts += [draw.gear_w(site, item, state.measures) for item in site.gear]
    watts += [draw.cooling_w(site, item, state.measures) for item in site.cooling]
    watts += draw.circuit_loads_w(site, state).values()
    assert min(watts) >= 0.0


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_a_plan_counts_savings_as_the_ledger_does(seed: int) -> None:
    """Where measures would save more than is drawn, the plan proves the least watts of all states."""
    site = greedy_savings(tiny_site(seed, slots=1), random.Random(seed))
    aims = (Aim.POWER, Aim.CHANGE)
    best = Brute(site).best(aims)
    result = solve(site, Options(time_s=60.0, aims=aims))
    assert (best.state is None) == (result.plan is None)
    if best.state is None or result.plan is None:
        return
    assert not verify_plan(site, result.plan)
    planned = ledger(site, result.plan.state).mean_power_w
    assert planned == pytest.approx(ledger(site, best.state).mean_power_w, abs=0.02)
    assert planned >= 0.0


def balance_w(site: Site, season: Season, state: State, inlet_c: float, heat_w: float) -> float:
    """Add up heat less what walls, air and chillers at work take out at a temperature, W: falling in it."""
    walls = site.room.ua_w_k + sum(_room(site, name, "ua_delta_w_k") for name in state.measures)
    leak = site.room.leak_m3_s + sum(_room(site, name, "leak_delta_m3_s") for name in state.measures)
    out = (max(0.0, walls) + AIR_J_M3_K * max(0.0, leak)) * (inlet_c - season.surroundings_c)
    for option in _running(site, season, state):
        removal = option.removal[season.name]
        out += AIR_J_M3_K * removal.flow_m3_s / removal.recirculation * (inlet_c - removal.supply_c)
        out += removal.capacity_w if option.setpoint_c is None or inlet_c > option.setpoint_c else 0.0
    return heat_w - out


def _room(site: Site, name: str, figure: str) -> float:
    effect = site.measure[name].room_effect
    return float(getattr(effect, figure)) if effect is not None else 0.0


def _running(site: Site, season: Season, state: State) -> list[Cooling]:
    return [item for item in site.cooling if item.name in state.cooling.get(season.name, frozenset())]


@pytest.mark.parametrize("seed", range(STATES))
def test_no_room_is_chilled_below_a_set_point(seed: int) -> None:
    """The temperature is where the heat balance, bisected here, changes its sign.

    So a chiller counts only above its set point: with it the room is not colder than the lower of the set
    point and what the room would be without it.
    """
    site = with_set_points(random_site(seed, seasons=3), random.Random(seed))
    state = random_state(site, seed)
    for season, entry in zip(site.seasons, ledger(site, state).seasons, strict=True):
        assert entry.temperature_c == pytest.approx(bisected_c(site, season, state, entry.heat_w), abs=1e-6)
        for option in _running(site, season, state):
            if option.setpoint_c is not None:
                others = frozenset(state.cooling[season.name]) - {option.name}
                without = replace(state, cooling={**state.cooling, season.name: others})
                alone_c = bisected_c(site, season, without, entry.heat_w)
                assert entry.temperature_c >= min(option.setpoint_c, alone_c) - 1e-6


def with_set_points(site: Site, rng: random.Random) -> Site:
    """Make a site at sea level all of whose chillers have a set point, as those of every inventory have."""
    options = tuple(
        replace(item, setpoint_c=rng.choice((18.0, 22.0, 24.0)))
        if any(removal.capacity_w for removal in item.removal.values())
        else item
        for item in site.cooling
    )
    return replace(site, cooling=options, room=replace(site.room, altitude_m=0.0))


def bisected_c(site: Site, season: Season, state: State, heat_w: float) -> float:
    """Search the temperature at which the balance changes its sign."""
    low, high = -200.0, 500.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if balance_w(site, season, state, middle, heat_w) > 0.0 else (low, middle)
    return high
