"""Sound through a partition: composite loss with leaks, the way over the ceiling, the level next door."""

import math
from collections.abc import Sequence

from planner.physics.bands import OCTAVE_HZ, Bands, require_bands
from planner.physics.checks import require_not_negative, require_positive
from planner.physics.sound import add_levels

FIELD_INCIDENCE_DB = 5.5
"""Normal minus field incidence transmission loss in dB, for third-octave bands (5 dB is used for octaves)."""

AIR_IMPEDANCE_RAYL = 1.205 * 343.0
"""Density times speed of sound of air at 20 C, in Pa s/m."""

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


def parallel_paths_db(*tl_db: float) -> float:
    """Transmission loss in dB of several paths side by side, all referred to the same area.

    Raises
    ------
    ValueError
        If there is no path.

    Source: energy sum of the transmitted parts.
    """
    if not tl_db:
        raise ValueError("there must be at least one path for sound")
    return -add_levels(*(-each for each in tl_db))


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


def with_ceiling_path(wall_tl_db: Sequence[float], cac: float) -> Bands:
    """Octave transmission loss in dB of a wall that stops at a lay-in ceiling: wall and ceiling in parallel.

    Raises
    ------
    ValueError
        If there are not eight values, or the CAC is negative.

    Source: parallel paths referred to the wall's area; simplification common in practice.
    """
    wall = require_bands("the transmission loss of the wall", wall_tl_db)
    return tuple(parallel_paths_db(*pair) for pair in zip(wall, ceiling_path_bands(cac), strict=True))


def mass_law_db(
    surface_mass_kg_m2: float, frequency_hz: float, correction_db: float = FIELD_INCIDENCE_DB
) -> float:
    """Transmission loss in dB of a limp single leaf at field incidence.

    Raises
    ------
    ValueError
        If the mass in kg/m2 or the frequency in Hz is not above zero.

    Source: mass law, handbook; `10 lg(1 + (pi f m / (rho c))**2)` less the field incidence correction.
    """
    require_positive("the mass of the leaf in kg/m2", surface_mass_kg_m2)
    require_positive("the frequency in Hz", frequency_hz)
    ratio = math.pi * frequency_hz * surface_mass_kg_m2 / AIR_IMPEDANCE_RAYL
    return 10.0 * math.log10(1.0 + ratio**2) - correction_db
