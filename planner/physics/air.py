"""Air: density by altitude, humidity by Hyland and Wexler, inlet limits of servers (ASHRAE TC 9.9)."""

import math
from collections.abc import Mapping
from typing import NamedTuple

from planner.physics.checks import require_finite, require_known, require_positive

KELVIN_AT_0_C = 273.15

MAX_ALTITUDE_M = 11_000.0
"""Top of the layer in which the pressure formula holds."""

ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)
"""Hyland and Wexler's coefficients for ln(Pa) over ice and over water, as the ASHRAE handbook gives them."""

COLDEST_C = -100.0
HOTTEST_C = 200.0


class Envelope(NamedTuple):
    """Limits at a server's inlet: temperature and dew point in C, relative humidity in %."""

    temp_min_c: float
    temp_max_c: float
    dew_point_min_c: float
    dew_point_max_c: float
    rh_min_pct: float
    rh_max_pct: float


INLET_LIMITS: Mapping[str, Envelope] = {
    "recommended": Envelope(18, 27, -9, 15, 0, 70),
    "A1": Envelope(15, 32, -12, 17, 8, 80),
    "A2": Envelope(10, 35, -12, 21, 8, 80),
    "A3": Envelope(5, 40, -12, 24, 8, 85),
    "A4": Envelope(5, 45, -12, 24, 8, 90),
}
"""ASHRAE TC 9.9 limits of 2021 at the equipment inlet: recommended for A1 to A4, and allowed by class.

The recommended humidity is at most 70 %, or 50 % where corrosive gases are found. Editions of 2008 and 2015
had 60 %. All hold to 3,050 m; temperature may change by 20 K an hour, 5 K with tape.
"""

RECOMMENDED = "recommended"


class InletVerdict(NamedTuple):
    """Whether inlet air is within the recommended and the allowed limits, and a sentence for each miss."""

    recommended: bool
    allowed: bool
    reasons: tuple[str, ...]


def density_ratio(altitude_m: float) -> float:
    """Density of room air at an altitude in m relative to sea level, at the SAME temperature.

    The standard atmosphere's own density ratio is higher because it cools the air as well: not for rooms.

    Raises
    ------
    ValueError
        If the altitude lies below -500 m or above 11,000 m.

    Source: pressure ratio of the standard atmosphere; agrees with HVAC tables (0.832 at 5,000 ft).
    """
    if not -500.0 <= altitude_m <= MAX_ALTITUDE_M:
        raise ValueError(f"the altitude must lie between -500 and 11,000 m, not {altitude_m}")
    return float((1.0 - 2.25577e-5 * altitude_m) ** 5.2559)


def saturation_pressure_pa(temp_c: float) -> float:
    """Saturation pressure in Pa of water vapour over water, or over ice below the freezing point.

    Raises
    ------
    ValueError
        If the temperature lies outside -100 to 200 C.

    Source: Hyland and Wexler, as in the ASHRAE handbook.
    """
    kelvin = _in_range(temp_c) + KELVIN_AT_0_C
    inverse, constant, *powers, logarithm = ICE if temp_c <= 0 else WATER
    exponent = inverse / kelvin + constant + logarithm * math.log(kelvin)
    return math.exp(exponent + sum(factor * kelvin ** (i + 1) for i, factor in enumerate(powers)))


def dew_point_c(temp_c: float, rh_pct: float) -> float:
    """Dew point in C of air at a temperature and relative humidity in %; frost point below freezing.

    Raises
    ------
    ValueError
        If the temperature lies outside -100 to 200 C, or the humidity is not above 0 and up to 100 %.

    Source: inverse of `saturation_pressure_pa`, by bisection to 1e-9 K.
    """
    vapour_pa = require_positive("the relative humidity", _rh_share(rh_pct)) * saturation_pressure_pa(temp_c)
    low_c, high_c = COLDEST_C, temp_c
    while high_c - low_c > 1e-9:
        middle_c = (low_c + high_c) / 2.0
        if saturation_pressure_pa(middle_c) < vapour_pa:
            low_c = middle_c
        else:
            high_c = middle_c
    return high_c


def relative_humidity_pct(temp_c: float, dew_c: float) -> float:
    """Relative humidity in % of air at a temperature with a dew point, both in C.

    Raises
    ------
    ValueError
        If a temperature lies outside -100 to 200 C, or the dew point above the temperature.

    Source: ratio of saturation pressures.
    """
    if dew_c > temp_c:
        raise ValueError(f"the dew point of {dew_c} C lies above the temperature of {temp_c} C")
    return 100.0 * saturation_pressure_pa(dew_c) / saturation_pressure_pa(temp_c)


def inlet_verdict(
    equipment_class: str, temp_c: float, dew_c: float | None = None, rh_pct: float | None = None
) -> InletVerdict:
    """Judge inlet air for a class of equipment, A1 to A4: temperature in C and, where known, humidity.

    Of dew point in C and relative humidity in % the missing one is computed from the other.

    Raises
    ------
    ValueError
        If the class is unknown, or temperature or humidity is out of range.

    Source: ASHRAE TC 9.9, 2021 (the limits as facts).
    """
    if equipment_class == RECOMMENDED:
        raise ValueError(
            "name the class of the equipment, A1 to A4; the recommended limits are judged anyway"
        )
    allowed = require_known("equipment class", equipment_class, INLET_LIMITS)
    _in_range(temp_c)
    if dew_c is None and rh_pct is not None:
        dew_c = dew_point_c(temp_c, rh_pct)
    elif rh_pct is None and dew_c is not None:
        rh_pct = relative_humidity_pct(temp_c, dew_c)
    outside_recommended = _misses(RECOMMENDED, INLET_LIMITS[RECOMMENDED], temp_c, dew_c, rh_pct)
    outside_allowed = _misses(f"allowed for {equipment_class}", allowed, temp_c, dew_c, rh_pct)
    return InletVerdict(
        not outside_recommended, not outside_allowed, (*outside_allowed, *outside_recommended)
    )


def _misses(
    name: str, limits: Envelope, temp_c: float, dew_c: float | None, rh_pct: float | None
) -> list[str]:
    judged = (
        ("temperature", "C", temp_c, limits.temp_min_c, limits.temp_max_c),
        ("dew point", "C", dew_c, limits.dew_point_min_c, limits.dew_point_max_c),
        ("relative humidity", "%", rh_pct, limits.rh_min_pct, limits.rh_max_pct),
    )
    return [
        f"{what} {value:.1f} {unit} is outside {low:g} to {high:g} {unit} ({name})"
        for what, unit, value, low, high in judged
        if value is not None and not low <= value <= high
    ]


def _in_range(temp_c: float) -> float:
    if not COLDEST_C <= require_finite("the temperature in C", temp_c) <= HOTTEST_C:
        raise ValueError(f"the temperature must lie between -100 and 200 C, not {temp_c}")
    return temp_c


def _rh_share(rh_pct: float) -> float:
    if not 0.0 <= rh_pct <= 100.0:
        raise ValueError(f"relative humidity lies between 0 and 100 %, not {rh_pct}")
    return rh_pct / 100.0
