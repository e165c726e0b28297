"""Sound through a partition between diffuse fields: composite loss with leaks, ceilings, the level behind."""

import math
from collections.abc import Sequence

from planner.physics.bands import OCTAVE_HZ, Bands, require_bands
from planner.physics.checks import require_not_negative, require_positive
from planner.physics.sound import add_levels

CAC_SHAPE_DB: Bands = (-22.0, -16.0, -7.0, 0.0, 3.0, 4.0, 4.0, 4.0)
"""Assumed octave losses of a ceiling path in dB relative to its CAC: the octave points of the rating contour.

ASTM E413 contour at 125 Hz to 4 kHz; 63 Hz taken 6 dB lower, 8 kHz equal to 4 kHz. An assumption.
"""


def composite_tl_db(elements: Sequence[tuple[float, float]]) -> float:
    """Transmission loss in dB of a partition made of (area in m2, transmission loss in dB) elements.

    A gap is an element of 0 dB. `R = -10 lg(sum S 10**(-R/10) / sum S)`.

    Raises
    ------
    ValueError
        If there is no element, an area is negative, the total area is zero, or a loss is not a number.

    Source: handbook.
    """
    total_m2 = sum(require_not_negative("the area of an element in m2", area) for area, _ in elements)
    if total_m2 <= 0:
        raise ValueError("a partition needs at least one element with an area above zero")
    shares = [10.0 * math.log10(area / total_m2) - tl_db for area, tl_db in elements if area > 0]
    return -add_levels(*shares)


def composite_tl_bands(elements: Sequence[tuple[float, Sequence[float]]]) -> Bands:
    """Transmission loss in dB of a partition in each octave band, see `composite_tl_db`.

    Raises
    ------
    ValueError
        If there is no element, a row has not eight values, or an area is negative or all are zero.

    Source: handbook.
    """
    checked = [(area, require_bands("the transmission loss of an element", tl)) for area, tl in elements]
    return tuple(
        composite_tl_db([(area, tl[band]) for area, tl in checked]) for band in range(len(OCTAVE_HZ))
    )


def room_to_room_db(
    lp1_db: float, tl_db: float, wall_area_m2: float, receiving_absorption_m2: float
) -> float:
    """Level in dB in the next room, `Lp2 = Lp1 - TL + 10 lg(S / A2)`.

    `lp1_db` is the REVERBERANT level in the loud room, see `reverberant_transfer_db`.

    Raises
    ------
    ValueError
        If the wall area or the absorption area of the receiving room, both in m2, is not above zero.

    Source: handbook, diffuse fields on both sides.
    """
    require_positive("the wall area in m2", wall_area_m2)
    require_positive("the absorption of the receiving room in m2", receiving_absorption_m2)
    return lp1_db - tl_db + 10.0 * math.log10(wall_area_m2 / receiving_absorption_m2)


def room_to_room_bands(
    lp1_db: Sequence[float],
    tl_db: Sequence[float],
    wall_area_m2: float,
    receiving_absorption_m2: Sequence[float],
) -> Bands:
    """Octave levels in dB in the next room, see `room_to_room_db`.

    Raises
    ------
    ValueError
        If a row has not eight values, or an area in m2 is not above zero.

    Source: handbook, diffuse fields on both sides.
    """
    rows = zip(
        require_bands("the level in the loud room", lp1_db),
        require_bands("the transmission loss", tl_db),
        require_bands("the absorption of the receiving room", receiving_absorption_m2),
        strict=True,
    )
    return tuple(room_to_room_db(lp1, tl, wall_area_m2, absorption) for lp1, tl, absorption in rows)


def ceiling_path_bands(cac: float) -> Bands:
    """Assumed octave transmission loss in dB of the way over a lay-in ceiling with the given CAC.

    Not below zero in any band. CAC 20 to 35 is usual; lights and grilles cost up to 10 points.

    Raises
    ------
    ValueError
        If the CAC is negative.

    Source: CAC from trade papers; the spectrum is `CAC_SHAPE_DB`, an assumption.
    """
    require_not_negative("the ceiling attenuation class", cac)
    return tuple(max(0.0, cac + shape) for shape in CAC_SHAPE_DB)
