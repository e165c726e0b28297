"""Heat of a room, by steady and first-order balances: what air carries, where it settles and how fast."""

import math
from collections.abc import Sequence
from typing import TypeAlias

from planner.physics.checks import require_finite, require_not_negative, require_positive

AIR_DENSITY_KG_M3 = 1.2
"""Density of room air at sea level used in airflow sums; scaled by `air.density_ratio` higher up."""

AIR_HEAT_CAPACITY_J_KG_K = 1006.0
"""Specific heat of air at constant pressure (CoolProp 1006.1 at 20 C)."""

AIR_J_M3_K = AIR_DENSITY_KG_M3 * AIR_HEAT_CAPACITY_J_KG_K
"""Heat carried by 1 m3 of air for each kelvin: 1207 J, the 1.08 BTU/(h cfm F) of the trade."""

BTU_H_PER_W = 3.412141633
M3_S_PER_CFM = 0.3048**3 / 60.0

NO_CONDUCTANCE_W_K = 1e-12
"""A conductance under this is none: dividing by it would overflow, and no room has so little."""

AIR_FILM_M2_K_W = 0.12
STUD_CAVITY_M2_K_W = 0.18
GYPSUM_12MM_M2_K_W = 0.08
"""Thermal resistances in m2 K/W of an air film, an empty stud cavity and one 12 mm board (from memory)."""

Flow: TypeAlias = tuple[float, float]
"""Airflow in m3/s and the temperature in C at which it comes in."""


class NeverSettlesError(ValueError):
    """A room that only grows hotter: nothing carries its heat away."""


def btu_h_from_w(power_w: float) -> float:
    """Heat flow in BTU/h of a power in W. Source: definition of the international-table BTU."""
    return power_w * BTU_H_PER_W


def cfm_from_m3_s(flow_m3_s: float) -> float:
    """Airflow in ft3/min of m3/s. Source: definition of the foot."""
    return flow_m3_s / M3_S_PER_CFM


def path_capacity_w(limit_c: float, supply_c: float, flow_m3_s: float, density_ratio: float = 1.0) -> float:
    """Heat in W that an air path takes out of a room held at `limit_c`.

    Negative when the supply is warmer than the limit: the path then brings heat in.

    Raises
    ------
    ValueError
        If a temperature is not a number, the flow negative or the density ratio not above zero.

    Source: `rho cp V (T - Ts)`, handbook.
    """
    require_finite("the limit temperature in C", limit_c)
    require_finite("the supply temperature in C", supply_c)
    return _air_w_k(flow_m3_s, density_ratio) * (limit_c - supply_c)


def steady_temperature_c(
    heat_w: float, ua_w_k: float, adjacent_c: float, flows: Sequence[Flow] = (), density_ratio: float = 1.0
) -> float:
    """Temperature in C at which a room settles, from its heat, its walls and the air brought in.

    `T = (P + UA Ta + sum m cp Ts) / (UA + sum m cp)`.

    Raises
    ------
    NeverSettlesError
        If nothing carries heat away.
    ValueError
        If a figure is negative or not a number.

    Source: steady heat balance, handbook.
    """
    require_finite("the heat in W", heat_w)
    require_finite("the adjacent temperature in C", adjacent_c)
    paths = [(require_not_negative("the conductance of the walls in W/K", ua_w_k), adjacent_c)]
    paths += [
        (_air_w_k(flow, density_ratio), require_finite("the supply temperature in C", c)) for flow, c in flows
    ]
    total_w_k = sum(w_k for w_k, _ in paths)
    if total_w_k <= 0:
        raise NeverSettlesError(
            "the room has no path for its heat: no wall conducts and no air moves, so it never settles"
        )
    return (heat_w + sum(w_k * temp_c for w_k, temp_c in paths)) / total_w_k


def seconds_to_temperature(
    alarm_c: float, start_c: float, heat_w: float, ua_w_k: float, adjacent_c: float, capacity_j_k: float
) -> float:
    """Time in s until a room without cooling reaches `alarm_c`; infinite if it never does, 0 if it is there.

    Raises
    ------
    ValueError
        If the conductance is negative, or the capacity in J/K not above zero.

    Source: first-order heat balance solved for the time.
    """
    require_positive("the heat capacity in J/K", capacity_j_k)
    require_not_negative("the conductance of the walls in W/K", ua_w_k)
    net_w = heat_w - ua_w_k * (start_c - adjacent_c)
    if alarm_c <= start_c:
        return 0.0
    if net_w <= ua_w_k * (alarm_c - start_c):
        return math.inf
    if ua_w_k < NO_CONDUCTANCE_W_K:
        return capacity_j_k * (alarm_c - start_c) / net_w
    return -capacity_j_k / ua_w_k * math.log1p(-ua_w_k * (alarm_c - start_c) / net_w)


def wall_u_w_m2_k(resistances_m2_k_w: Sequence[float]) -> float:
    """Heat transfer coefficient in W/(m2 K) of layers in series, air films included.

    Raises
    ------
    ValueError
        If there is no layer, or a resistance in m2 K/W is not above zero.

    Source: handbook; the resistances given here as constants are from memory.
    """
    if not resistances_m2_k_w:
        raise ValueError("a wall needs at least one layer")
    return 1.0 / sum(require_positive("a thermal resistance in m2 K/W", each) for each in resistances_m2_k_w)


def _air_w_k(flow_m3_s: float, density_ratio: float) -> float:
    require_not_negative("the airflow in m3/s", flow_m3_s)
    return AIR_J_M3_K * require_positive("the density ratio", density_ratio) * flow_m3_s
