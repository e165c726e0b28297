"""What is lost between the wall and the machine: power supplies, batteries, power over network cables."""

from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

from planner.physics.checks import require_known, require_not_negative, require_positive

MINUTES_PER_HOUR = 60.0

PSU_EFFICIENCY: Mapping[str, Mapping[str, Mapping[float, float]]] = {
    "115V": {
        "80plus": {0.2: 0.80, 0.5: 0.80, 1.0: 0.80},
        "bronze": {0.2: 0.82, 0.5: 0.85, 1.0: 0.82},
        "silver": {0.2: 0.85, 0.5: 0.88, 1.0: 0.85},
        "gold": {0.2: 0.87, 0.5: 0.90, 1.0: 0.87},
        "platinum": {0.2: 0.90, 0.5: 0.92, 1.0: 0.89},
        "titanium": {0.1: 0.90, 0.2: 0.92, 0.5: 0.94, 1.0: 0.90},
    },
    "230V-redundant": {
        "bronze": {0.2: 0.81, 0.5: 0.85, 1.0: 0.81},
        "silver": {0.2: 0.85, 0.5: 0.89, 1.0: 0.85},
        "gold": {0.2: 0.88, 0.5: 0.92, 1.0: 0.88},
        "platinum": {0.2: 0.90, 0.5: 0.94, 1.0: 0.91},
        "titanium": {0.1: 0.90, 0.2: 0.94, 0.5: 0.96, 1.0: 0.91},
    },
    "230V-internal": {
        "80plus": {0.2: 0.82, 0.5: 0.85, 1.0: 0.82},
        "bronze": {0.2: 0.85, 0.5: 0.88, 1.0: 0.85},
        "silver": {0.2: 0.87, 0.5: 0.90, 1.0: 0.87},
        "gold": {0.2: 0.90, 0.5: 0.92, 1.0: 0.89},
        "platinum": {0.2: 0.92, 0.5: 0.94, 1.0: 0.90},
        "titanium": {0.1: 0.90, 0.2: 0.94, 0.5: 0.96, 1.0: 0.94},
    },
}
"""Least efficiency by supply, level and share of rated load (80 PLUS table, two copies)."""


class Span(NamedTuple):
    """Low and high end of a range of efficiencies."""

    low: float
    high: float


UPS_EFFICIENCY: Mapping[str, Span] = {
    "standby": Span(0.95, 0.98),
    "line-interactive": Span(0.90, 0.95),
    "double-conversion": Span(0.85, 0.95),
}
"""Efficiency of a battery supply by type at good load (web page, common practice); worse at low load."""


class PoeClass(NamedTuple):
    """A power class: W sent by the switch port, W that reach the device at least, and the standard."""

    sent_w: float
    received_w: float
    standard: str


POE_CLASSES: Mapping[int, PoeClass] = {
    0: PoeClass(15.4, 12.95, "802.3af"),
    1: PoeClass(4.0, 3.84, "802.3af"),
    2: PoeClass(7.0, 6.49, "802.3af"),
    3: PoeClass(15.4, 12.95, "802.3af"),
    4: PoeClass(30.0, 25.5, "802.3at"),
    5: PoeClass(45.0, 40.0, "802.3bt"),
    6: PoeClass(60.0, 51.0, "802.3bt"),
    7: PoeClass(75.0, 62.0, "802.3bt"),
    8: PoeClass(90.0, 71.3, "802.3bt"),
}
"""IEEE 802.3af, at and bt power classes (secondary source)."""


def psu_efficiency(level: str, load_share: float, supply: str = "230V-internal") -> float:
    """Efficiency (0 to 1) of a power supply at a share of its rated load, between the table's points.

    Below the lowest point the loss in watts is held at that point's (assumed; a real supply does better).

    Raises
    ------
    ValueError
        If level or supply is unknown, or the load is not above 0 and up to 1.

    Source: 80 PLUS table; straight lines between its points.
    """
    points = _psu_points(level, supply)
    if not 0.0 < load_share <= 1.0:
        raise ValueError(
            f"the load of a power supply must lie between 0 and 1 of its rating, not {load_share}"
        )
    lowest = min(points)
    if load_share < lowest:
        return load_share / (load_share + _no_load_share(points))
    return _interpolate(points, load_share)


def psu_input_w(output_w: float, rated_w: float, level: str, supply: str = "230V-internal") -> float:
    """Power in W that a power supply draws from the wall for an output in W.

    Raises
    ------
    ValueError
        If level or supply is unknown, the output negative or above the rating, or the rating not above zero.

    Source: as `psu_efficiency`.
    """
    require_not_negative("the output in W", output_w)
    require_positive("the rating in W", rated_w)
    if output_w == 0:
        return rated_w * _no_load_share(_psu_points(level, supply))
    return output_w / psu_efficiency(level, output_w / rated_w, supply)


def input_w(output_w: float, efficiency: float) -> float:
    """Power in W that goes into a stage of a known efficiency (0 to 1) for an output in W.

    Raises
    ------
    ValueError
        If the output is negative, or the efficiency not above 0 and up to 1.

    Source: definition of efficiency.
    """
    if not 0.0 < efficiency <= 1.0:
        raise ValueError(f"an efficiency must lie above 0 and up to 1, not {efficiency}")
    return require_not_negative("the output in W", output_w) / efficiency


def ups_loss_w(load_w: float, efficiency: float) -> float:
    """Heat in W that a battery supply adds to the room for a load in W, see `UPS_EFFICIENCY`.

    Raises
    ------
    ValueError
        If the load is negative, or the efficiency not above 0 and up to 1.

    Source: definition of efficiency.
    """
    return input_w(load_w, efficiency) - load_w


def ups_run_time_min(usable_energy_wh: float, load_w: float, inverter_efficiency: float) -> float:
    """Time in minutes for which a battery of a usable energy in Wh carries a load in W.

    Optimistic for lead batteries, which give less at a high rate: usable energy at that rate is meant.

    Raises
    ------
    ValueError
        If the energy is negative, the load not above zero, or the efficiency not above 0 and up to 1.

    Source: arithmetic.
    """
    require_not_negative("the energy in Wh", usable_energy_wh)
    drawn_w = input_w(require_positive("the load in W", load_w), inverter_efficiency)
    return MINUTES_PER_HOUR * usable_energy_wh / drawn_w


def poe_cable_loss_w(poe_class: int) -> float:
    """Largest loss in W in the cable of one port of a power class.

    Raises
    ------
    ValueError
        If there is no such class.

    Source: IEEE 802.3, difference of sent and received power.
    """
    if poe_class not in POE_CLASSES:
        raise ValueError(f"there is no power class {poe_class}: they run from 0 to 8")
    return POE_CLASSES[poe_class].sent_w - POE_CLASSES[poe_class].received_w


def poe_room_heat_w(base_w: float, sent_w: float, conversion_efficiency: float) -> float:
    """Heat in W that a switch leaves in the room: its own draw and the conversion loss of what it sends away.

    What phones and cameras receive is heat elsewhere, and so is the cable loss outside the room.

    Raises
    ------
    ValueError
        If a power is negative, or the efficiency not above 0 and up to 1.

    Source: energy balance.
    """
    return require_not_negative("the switch's own power in W", base_w) + ups_loss_w(
        sent_w, conversion_efficiency
    )


def _psu_points(level: str, supply: str) -> Mapping[float, float]:
    return require_known("efficiency level", level, require_known("supply", supply, PSU_EFFICIENCY))


def _no_load_share(points: Mapping[float, float]) -> float:
    lowest = min(points)
    return lowest * (1.0 / points[lowest] - 1.0)


def _interpolate(points: Mapping[float, float], load_share: float) -> float:
    for (low, at_low), (high, at_high) in pairwise(sorted(points.items())):
        if load_share <= high:
            return at_low + (at_high - at_low) * (load_share - low) / (high - low)
    return points[max(points)]
