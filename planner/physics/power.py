"""Power: a server's draw by load, losses of supplies, batteries and PoE, circuits, energy and money."""

import math
from collections.abc import Mapping
from typing import NamedTuple

from planner.physics.checks import (
    require_finite,
    require_fraction,
    require_known,
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

MEMORY_W_PER_GB = 0.392
"""Memory power in W for each GB (published coefficient of a fleet; used for GiB alike)."""


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


def idle_share(idle_w: float, peak_w: float) -> float:
    """Idle power over peak power (no unit).

    Raises
    ------
    ValueError
        If idle is negative, peak is not above zero or below idle.

    Source: definition.
    """
    power_w(idle_w, peak_w, 0.0)
    return idle_w / require_positive("the peak power in W", peak_w)


class Range(NamedTuple):
    """A low and a high figure, with the unit of the table that holds it."""

    low: float
    high: float


class Component(NamedTuple):
    """Power in W of a component idle, working and while it starts (None where no figure was found)."""

    idle_w: Range
    active_w: Range
    start_w: Range | None
    source: str


_SHEETS = "two disk data sheets, common practice"
_MEMORY = "from memory"

COMPONENTS: Mapping[str, Component] = {
    "disk-3.5-7200": Component(Range(6.0, 8.0), Range(8.0, 12.5), Range(20.0, 33.6), _SHEETS),
    "disk-3.5-5400": Component(Range(4.0, 6.0), Range(6.0, 9.0), Range(15.0, 20.0), _SHEETS),
    "disk-2.5-5400": Component(Range(0.65, 1.1), Range(1.3, 2.3), Range(4.5, 5.0), _SHEETS),
    "ssd-sata": Component(Range(0.05, 1.5), Range(2.0, 5.0), None, _MEMORY),
    "ssd-nvme": Component(Range(0.5, 5.0), Range(5.0, 12.0), None, _MEMORY),
}
"""Power of disks, by kind."""


def component_w(name: str, active: bool = False) -> float:
    """Power in W of one component of `COMPONENTS`: the middle of its idle or its active range.

    Raises
    ------
    ValueError
        If there is no such component.

    Source: the component's row.
    """
    component = require_known("component", name, COMPONENTS)
    chosen = component.active_w if active else component.idle_w
    return (chosen.low + chosen.high) / 2.0


def memory_w(size_gb: float) -> float:
    """Power in W of memory of a size in GB.

    Raises
    ------
    ValueError
        If the size is negative.

    Source: published fleet coefficient, 0.392 W/GB.
    """
    return MEMORY_W_PER_GB * require_not_negative("the memory in GB", size_gb)


def spin_up_w(current_a: float = 2.8, supply_v: float = 12.0) -> float:
    """Power in W of one 3.5-inch disk while it spins up, 5 to 10 s.

    Raises
    ------
    ValueError
        If a figure is negative.

    Source: two disk data sheets (2.8 A at 12 V).
    """
    return require_not_negative("the current in A", current_a) * require_not_negative("the voltage", supply_v)


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


def annual_kwh(mean_power_w: float) -> float:
    """Energy in kWh a year of a constant power in W.

    Raises
    ------
    ValueError
        If the power is negative.

    Source: 8,760 hours a year.
    """
    return require_not_negative("the power in W", mean_power_w) * HOURS_PER_YEAR / W_PER_KW


def annual_cost(mean_power_w: float, price_per_kwh: float) -> float:
    """Cost a year of a constant power in W, in the currency of the price for 1 kWh.

    Raises
    ------
    ValueError
        If the power or the price is negative.

    Source: arithmetic.
    """
    return annual_kwh(mean_power_w) * require_not_negative("the price of 1 kWh", price_per_kwh)


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

    Raises
    ------
    ValueError
        If the energy or the factor is negative.

    Source: arithmetic; say year and method (location or market based) beside the factor.
    """
    require_not_negative("the factor in kg for 1 kWh", factor_kg_per_kwh)
    return require_not_negative("the energy in kWh", energy_kwh) * factor_kg_per_kwh
