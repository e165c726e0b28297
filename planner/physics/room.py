"""Sound inside a room: direct plus diffuse reverberant field, by the room constant of its surfaces."""

import math
from collections.abc import Sequence
from typing import TypeAlias

from planner.physics.bands import OCTAVE_HZ, Bands, require_bands
from planner.physics.checks import require_positive

Surface: TypeAlias = tuple[float, Bands]
"""Area in m2 and absorption coefficient in each octave band."""


PREDICTION_PM_DB = 5.0
"""How far a predicted level in a small furnished room may be off, in dB; differences are much better.

Handbook practice: beyond the critical distance furnished rooms go on falling by about 3 dB a doubling, so
far levels are predicted a few dB too high; below the Schroeder frequency single modes rule.
"""


def room_constant(surface_area_m2: float, mean_alpha: float) -> float:
    """Room constant R in m2, `S a / (1 - a)`.

    Raises
    ------
    ValueError
        If the area is not above zero, or the mean absorption not strictly between 0 and 1.

    Source: classical room acoustics, handbook.
    """
    require_positive("the surface of the room in m2", surface_area_m2)
    _require_alpha(mean_alpha)
    return surface_area_m2 * mean_alpha / (1.0 - mean_alpha)


def mean_absorption(surfaces: Sequence[Surface]) -> Bands:
    """Area-weighted mean absorption coefficient in each octave band.

    Raises
    ------
    ValueError
        If there is no surface, an area is not above zero, or a row has not eight values.

    Source: handbook.
    """
    total_m2 = sum(area for area, _ in surfaces)
    return tuple(absorption / total_m2 for absorption in absorption_area(surfaces))


def absorption_area(surfaces: Sequence[Surface]) -> Bands:
    """Equivalent absorption area A in m2 in each octave band, the sum of area times coefficient.

    Raises
    ------
    ValueError
        If there is no surface, an area is not above zero, or a row has not eight values.

    Source: handbook (Sabine).
    """
    if not surfaces:
        raise ValueError("a room needs at least one surface")
    for area, alphas in surfaces:
        require_positive("the area of a surface in m2", area)
        require_bands("the absorption of a surface", alphas)
    return tuple(sum(area * alphas[band] for area, alphas in surfaces) for band in range(len(OCTAVE_HZ)))


def room_constant_bands(surfaces: Sequence[Surface]) -> Bands:
    """Room constant R in m2 in each octave band, from the surfaces of the room.

    Raises
    ------
    ValueError
        If there is no surface, an area is not above zero, or the mean absorption is 0 or 1 in a band.

    Source: classical room acoustics, handbook.
    """
    total_m2 = sum(area for area, _ in surfaces)
    return tuple(room_constant(total_m2, alpha) for alpha in mean_absorption(surfaces))


def inside_transfer_db(q: float, distance_m: float, room_constant_m2: float) -> float:
    """Lp - Lw in dB inside a room, `10 lg(Q / (4 pi r**2) + 4 / R)`.

    Raises
    ------
    ValueError
        If the directivity factor, distance in m or room constant in m2 is not above zero.

    Source: direct plus diffuse reverberant field, handbook; about 5 dB either way in furnished rooms.
    """
    require_positive("the directivity factor Q", q)
    require_positive("the distance in metres", distance_m)
    require_positive("the room constant in m2", room_constant_m2)
    return 10.0 * math.log10(q / (4.0 * math.pi * distance_m**2) + 4.0 / room_constant_m2)


def inside_transfer_bands(q: float, distance_m: float, room_constants_m2: Sequence[float]) -> Bands:
    """Lp - Lw in dB in each octave band, see `inside_transfer_db`.

    Raises
    ------
    ValueError
        If there are not eight room constants, or a figure is not above zero.

    Source: as `inside_transfer_db`.
    """
    constants = require_bands("the room constant", room_constants_m2)
    return tuple(inside_transfer_db(q, distance_m, each) for each in constants)


def reverberant_transfer_db(room_constant_m2: float) -> float:
    """Lp - Lw in dB of the reverberant field alone, `10 lg(4 / R)`: the level that meets the walls.

    Raises
    ------
    ValueError
        If the room constant in m2 is not above zero.

    Source: classical room acoustics, handbook.
    """
    return 10.0 * math.log10(4.0 / require_positive("the room constant in m2", room_constant_m2))


def reverberant_transfer_bands(room_constants_m2: Sequence[float]) -> Bands:
    """Lp - Lw in dB of the reverberant field in each octave band.

    Raises
    ------
    ValueError
        If there are not eight room constants, or one is not above zero.

    Source: as `reverberant_transfer_db`.
    """
    return tuple(
        reverberant_transfer_db(each) for each in require_bands("the room constant", room_constants_m2)
    )


def _require_alpha(mean_alpha: float) -> None:
    if not 0.0 < mean_alpha < 1.0:
        raise ValueError(f"the mean absorption must lie between 0 and 1 (neither included), not {mean_alpha}")
