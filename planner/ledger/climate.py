"""Heat in the room against what takes it out: temperature, air moved, capacity at a limit."""

from __future__ import annotations

import math
from collections.abc import Iterable

from planner.domain.air import Cooling, Season
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger.effects import room_effects
from planner.physics import air, heat
from planner.tolerances import exceeds

SHUT_W_K, SHUT_M3_S = 1e-6, 1e-9
"""Conductance and air stream up to which a room is shut: a watt would warm it by a thousand kelvin."""


def density_ratio(site: Site) -> float:
    """Compute the air density at the site's altitude relative to sea level."""
    return air.density_ratio(site.room.altitude_m)


def leak_m3_s(site: Site, measures: Iterable[str]) -> float:
    """Compute the air exchanged with the surroundings through gaps, m³/s, under the measures taken."""
    leak = site.room.leak_m3_s + math.fsum(e.leak_delta_m3_s for e in room_effects(site, measures))
    return leak if leak > SHUT_M3_S else 0.0


def conductance_w_k(site: Site, measures: Iterable[str]) -> float:
    """Compute the heat conductance of walls, floor and ceiling, W/K, under the measures taken."""
    changed = math.fsum(effect.ua_delta_w_k for effect in room_effects(site, measures))
    conductance = site.room.ua_w_k + changed
    return conductance if conductance > SHUT_W_K else 0.0


def running(site: Site, season: Season, state: State) -> list[Cooling]:
    """Look up the cooling options that run in a season, in the site's order."""
    names = state.cooling.get(season.name, frozenset())
    return [option for option in site.cooling if option.name in names]


def air_flows(site: Site, season: Season, state: State) -> list[tuple[float, float]]:
    """Compute (m³/s, °C) of every air stream through the room in a season: gaps first, then running paths."""
    removals = [option.removal[season.name] for option in running(site, season, state)]
    flows = [(removal.flow_m3_s, removal.supply_c) for removal in removals]
    leak = (leak_m3_s(site, state.measures), season.surroundings_c)
    return [flow for flow in (leak, *flows) if flow[0] > SHUT_M3_S]


def inlet_flows(site: Site, season: Season, state: State) -> list[tuple[float, float]]:
    """Compute the streams of a mixed room whose air is as warm as what the machines breathe."""
    removals = [option.removal[season.name] for option in running(site, season, state)]
    flows = [(removal.inlet_flow_m3_s, removal.supply_c) for removal in removals]
    leak = (leak_m3_s(site, state.measures), season.surroundings_c)
    return [flow for flow in (leak, *flows) if flow[0] > SHUT_M3_S]


def temperature_c(site: Site, season: Season, state: State, heat_w: float) -> float:
    """Compute the steady inlet temperature, °C: the least at which all that runs carries the heat away.

    A chiller works only from its set point up; one without a set point works always. ValueError where
    nothing carries the heat away.
    """
    ua, ratio = conductance_w_k(site, state.measures), density_ratio(site)
    flows = inlet_flows(site, season, state)
    steps = sorted(
        (
            -math.inf if option.setpoint_c is None else option.setpoint_c,
            option.removal[season.name].capacity_w,
        )
        for option in running(site, season, state)
    )
    starts = [-math.inf, *(setpoint for setpoint, _ in steps)]
    ends = [*starts[1:], math.inf]
    chilled_w = 0.0
    for index, (start, end) in enumerate(zip(starts, ends, strict=True)):
        chilled_w += steps[index - 1][1] if index else 0.0
        if ua == 0.0 and not flows and math.isfinite(start) and not exceeds(heat_w, chilled_w):
            return start  # shut on all sides, and a chiller with a set point takes all the heat
        if ua == 0.0 and not flows and end < math.inf:
            continue
        steady = heat.steady_temperature_c(heat_w - chilled_w, ua, season.surroundings_c, flows, ratio)
        if max(steady, start) < end:
            return max(steady, start)
    raise AssertionError("the last interval has no end")


def room_capacity_w(site: Site, season: Season, measures: Iterable[str], limit_c: float) -> float:
    """Compute the watts that walls and gaps alone carry away at a room temperature."""
    per_kelvin = conductance_w_k(site, measures) * (limit_c - season.surroundings_c)
    leak = leak_m3_s(site, measures)
    return per_kelvin + heat.path_capacity_w(limit_c, season.surroundings_c, leak, density_ratio(site))


def option_capacity_w(site: Site, season: Season, option: Cooling, limit_c: float) -> float:
    """Compute the watts an option takes out in a season at a room temperature (below zero: it heats)."""
    removal = option.removal[season.name]
    chills = option.setpoint_c is None or option.setpoint_c <= limit_c
    path = heat.path_capacity_w(limit_c, removal.supply_c, removal.inlet_flow_m3_s, density_ratio(site))
    return path + (removal.capacity_w if chills else 0.0)
