"""Power: a server's draw (linear in load), circuits, starts, a battery's run time, energy and payback."""

import math

from planner.physics.checks import (
    require_finite,
    require_fraction,
    require_not_negative,
    require_positive,
)

HOURS_PER_YEAR = 8760.0
W_PER_KW = 1000.0

CONTINUOUS_SHARE = 0.8
"""Share of a breaker's rating for loads of three hours or more (NEC 210.19, 210.20; elsewhere local code)."""

INRUSH_A = (20.0, 60.0)
"""Range of a cold power supply's inrush in A, under 10 ms (from memory)."""

START_SHARE = 1.5
"""Draw of a machine while it starts, over its peak (assumed).

Four 3.5-inch disks that spin up take 93 W more than active ones, which is about half of a peak of 200 W;
they do so for 5 to 10 s, so that a breaker's rating counts, and not its curve for milliseconds.
"""


def power_w(idle_w: float, peak_w: float, utilisation: float) -> float:
    """Power in W of a machine between idle and peak, linear in utilisation (0 to 1).

    Against nine published load curves the worst error is 3.4 to 10.5 % of peak.

    Raises
    ------
    ValueError
        If a power is negative, peak is below idle, or the utilisation lies outside 0 to 1.

    Source: Fan, Weber, Barroso, ISCA 2007.
    """
    require_not_negative("the idle power in W", idle_w)
    if not require_finite("the peak power in W", peak_w) >= idle_w:
        raise ValueError(f"the peak power of {peak_w} W is below the idle power of {idle_w} W")
    return idle_w + require_fraction("utilisation", utilisation) * (peak_w - idle_w)


def circuit_continuous_w(breaker_a: float, supply_v: float, share: float = CONTINUOUS_SHARE) -> float:
    """Power in W that a circuit may carry for hours on end.

    Raises
    ------
    ValueError
        If the breaker in A or the voltage is not above zero, or the share not within 0 to 1.

    Source: 80 % rule of NEC 210.19 and 210.20; elsewhere local code decides.
    """
    require_positive("the breaker rating in A", breaker_a)
    return require_fraction("the share", share) * breaker_a * require_positive("the voltage", supply_v)


def inrush_a(units_together: int, per_unit_a: float = INRUSH_A[1]) -> float:
    """Inrush current in A of power supplies that are switched on together.

    Raises
    ------
    ValueError
        If a figure is negative.

    Source: 20 to 60 A for one unit, from memory; the high end unless told otherwise.
    """
    require_not_negative("the number of units", units_together)
    return units_together * require_not_negative("the inrush of one unit in A", per_unit_a)


def ups_run_time_min(usable_energy_wh: float, load_w: float, inverter_efficiency: float) -> float:
    """Time in minutes for which a battery of a usable energy in Wh carries a load in W.

    Optimistic for lead batteries, which give less at a high rate: usable energy at that rate is meant.

    Raises
    ------
    ValueError
        If the energy is negative, the load not above zero, or the efficiency not above 0 and up to 1.

    Source: arithmetic.
    """
    if not 0.0 < inverter_efficiency <= 1.0:
        raise ValueError(f"an efficiency must lie above 0 and up to 1, not {inverter_efficiency}")
    require_not_negative("the energy in Wh", usable_energy_wh)
    drawn_w = require_positive("the load in W", load_w) / inverter_efficiency
    return 60.0 * usable_energy_wh / drawn_w


def annual_kwh(mean_power_w: float) -> float:
    """Energy in kWh a year of a constant power in W.

    Source: 8,760 hours a year.
    """
    return mean_power_w * HOURS_PER_YEAR / W_PER_KW


def payback_years(cost: float, saving_per_year: float) -> float:
    """Years in which a saving repays a cost, without interest; infinite when nothing is saved.

    Raises
    ------
    ValueError
        If the cost is negative.

    Source: simple payback, common practice.
    """
    require_not_negative("the cost", cost)
    if cost == 0:
        return 0.0
    return cost / saving_per_year if saving_per_year > 0 else math.inf


def co2_kg(energy_kwh: float, factor_kg_per_kwh: float) -> float:
    """Carbon dioxide in kg of an energy in kWh; the factor must come from the user, there is no default.

    Source: arithmetic.
    """
    return energy_kwh * factor_kg_per_kwh
