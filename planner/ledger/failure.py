"""What happens when all cooling fails: how long until the room's alarm, and how warm it gets in the end."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.domain.air import Season
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import climate, draw
from planner.ledger.sums import SeasonLedger
from planner.physics import heat

WALL_J_M2_K = 10_000.0
"""Heat that a square metre of light lining takes up: 12.5 mm of gypsum, 800 kg/m³, 1 kJ/(kg K); assumed."""

CAPACITY_RANGE = 3.0
"""A room's heat capacity is known to this factor up and down (reference: range it by three)."""

SECONDS_A_MINUTE = 60.0


@dataclass(frozen=True)
class Failure:
    """From the moment cooling fails in a season: minutes to the alarm, and the temperature it would reach.

    ``soonest_min`` and ``latest_min`` are for a third and three times the heat capacity; infinite: never.
    ``end_c`` is infinite where no wall conducts and no air moves.
    """

    season: str
    alarm_c: float
    soonest_min: float
    minutes: float
    latest_min: float
    end_c: float


def heat_capacity_j_k(site: Site) -> float:
    """Compute the heat capacity of air, linings and equipment, J/K: as given, or from the room's size."""
    room = site.room
    if room.heat_capacity_j_k is not None:
        return room.heat_capacity_j_k
    floor_m2 = room.length_m * room.width_m
    shell_m2 = 2.0 * floor_m2 + 2.0 * (room.length_m + room.width_m) * room.height_m
    air_j_k = heat.path_capacity_w(1.0, 0.0, floor_m2 * room.height_m, climate.density_ratio(site))
    return air_j_k + WALL_J_M2_K * shell_m2


def failure(site: Site, state: State, season: Season, entry: SeasonLedger) -> Failure:
    """Compute what comes when all that cools stops at once; machines and gear run on."""
    machines = [draw.machine_w(site, machine, state.measures) for machine in state.machines]
    watts = math.fsum([*machines, *(draw.gear_heat_w(site, item, state.measures) for item in site.gear)])
    leak_w_k = heat.path_capacity_w(
        1.0, 0.0, climate.leak_m3_s(site, state.measures), climate.density_ratio(site)
    )
    ua_w_k = climate.conductance_w_k(site, state.measures) + leak_w_k
    around_c, start_c = season.surroundings_c, entry.temperature_c
    capacity = heat_capacity_j_k(site)
    soonest, middle, latest = (
        heat.seconds_to_temperature(site.policy.alarm_c, start_c, watts, ua_w_k, around_c, capacity * factor)
        / SECONDS_A_MINUTE
        for factor in (1.0 / CAPACITY_RANGE, 1.0, CAPACITY_RANGE)
    )
    end_c = math.inf if ua_w_k == 0.0 else around_c + watts / ua_w_k
    return Failure(season.name, site.policy.alarm_c, soonest, middle, latest, end_c)
