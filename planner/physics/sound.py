"""Levels in decibels by energy sums: adding, subtracting, A-weighting, octaves of a source known in dBA."""

import math
from collections.abc import Mapping, Sequence

from planner.physics.bands import A_WEIGHTING_DB, Bands, require_bands
from planner.physics.checks import require_known, require_not_negative, require_positive

SILENCE_DB = -math.inf
"""The level of no energy at all."""

LOUDEST_DB = 1000.0
"""A level above this is a mistake: 194 dB is already a full bar of sound pressure."""


MIN_BACKGROUND_GAP_DB = 3.0
"""Smallest difference in dB between a reading and its background that may be corrected (common practice)."""

SURFACE_Q: Mapping[str, float] = {"free": 1.0, "floor": 2.0, "edge": 4.0, "corner": 8.0}
"""Directivity factor Q by where the source stands: free, on one surface, at the edge of two, in a corner."""

SHAPES: Mapping[str, Bands] = {
    "large-slow-fan": (-3.4, -5.4, -3.4, -3.4, -4.4, -7.4, -12.4, -14.4),
    "medium-fan": (-11.1, -5.1, -7.1, -5.1, -5.1, -6.1, -9.1, -14.1),
    "small-fast-fan": (-24.4, -18.4, -12.4, -6.4, -8.4, -6.4, -6.4, -7.4),
    "flat": (-7.0, -7.0, -7.0, -7.0, -7.0, -7.0, -7.0, -7.0),
}
"""Unweighted octave levels in dB relative to the A-weighted total.

The fan shapes (120-140 mm, 80-92 mm and 40 mm) are one published spectrum of an axial fan moved up by 0, 1
and 3 octaves with its blade-pass frequency: an ASSUMPTION, to be replaced by declared octave data. `flat`
has the same level in every octave, for sources that are no fans; an assumption too.
"""


def energy(level_db: float) -> float:
    """Energy of a level relative to 0 dB, `10**(L/10)`; minus infinity gives 0.

    Raises
    ------
    ValueError
        If the level is not a number, or above 1000 dB.

    Source: definition of the decibel.
    """
    if not level_db <= LOUDEST_DB:
        raise ValueError(f"a level must be a number below {LOUDEST_DB:.0f} dB, not {level_db}")
    return float(10.0 ** (level_db / 10.0))


def level(relative_energy: float) -> float:
    """Level in dB of an energy relative to 0 dB, `10 lg E`; no energy gives minus infinity.

    Raises
    ------
    ValueError
        If the energy is negative or not a number.

    Source: definition of the decibel.
    """
    if not relative_energy >= 0:
        raise ValueError(f"an energy cannot be {relative_energy}")
    return 10.0 * math.log10(relative_energy) if relative_energy > 0 else SILENCE_DB


def add_levels(*levels_db: float) -> float:
    """Level in dB of several incoherent sources together; of none, minus infinity.

    Summed relative to the loudest, so that adding a source can never lower the result, even by rounding.

    Raises
    ------
    ValueError
        If a level is not a number, or above 1000 dB.

    Source: energy sum, `10 lg sum 10**(L/10)`.
    """
    loudest = max(levels_db, default=SILENCE_DB)
    if loudest == SILENCE_DB:
        return SILENCE_DB
    energy(loudest)
    return loudest + level(sum(energy(each - loudest) for each in levels_db))


def subtract_background(total_db: float, background_db: float) -> float:
    """Level in dB of a source alone, from a reading with it and a reading without it.

    Raises
    ------
    ValueError
        If the two readings are less than 3 dB apart: the remainder is then mostly reading error.

    Source: energy difference; the 3 dB limit is common practice.
    """
    if not total_db - background_db >= MIN_BACKGROUND_GAP_DB:
        raise ValueError(
            f"{total_db} dB is less than 3 dB above the background of {background_db} dB: the source "
            "cannot be told apart from it; measure closer, or when the rest is off"
        )
    return level(energy(total_db) - energy(background_db))


def background_uncertainty_db(total_db: float, background_db: float, reading_pm_db: float) -> float:
    """Uncertainty in dB of a background-corrected level when each reading is within `reading_pm_db`.

    First order, the two readings independent: `u * sqrt(Et**2 + Eb**2) / (Et - Eb)`.

    Raises
    ------
    ValueError
        If the readings are less than 3 dB apart, or the reading uncertainty is negative.

    Source: law of propagation of uncertainty (GUM) applied to the energy difference.
    """
    require_not_negative("the reading uncertainty in dB", reading_pm_db)
    subtract_background(total_db, background_db)
    share = energy(background_db - total_db)
    return reading_pm_db * math.hypot(1.0, share) / (1.0 - share)


def mean_of_declared(declared_db: float, k_db: float) -> float:
    """Mean sound power level in dB of a declared upper limit and the K that was added to it, `L = Ld - K`.

    Levels of several sources are summed as means: upper limits summed would overstate the whole.

    Raises
    ------
    ValueError
        If K is negative or not a number.

    Source: ISO 4871 (L_WAd = L_WA + K_WA); ISO 9296:2017 (L_WA,m and K_v).
    """
    return declared_db - require_not_negative("the K of a declaration in dB", k_db)


def a_weight(bands_db: Sequence[float]) -> Bands:
    """A-weighted octave levels in dB of eight unweighted ones.

    Raises
    ------
    ValueError
        If there are not eight.

    Source: IEC 61672-1, nominal table.
    """
    bands = require_bands("the spectrum", bands_db)
    return tuple(band + weight for band, weight in zip(bands, A_WEIGHTING_DB, strict=True))


def a_weighted_total(bands_db: Sequence[float]) -> float:
    """A-weighted total in dBA of eight unweighted octave levels in dB.

    Raises
    ------
    ValueError
        If there are not eight, or a level is not a number.

    Source: IEC 61672-1, nominal table; energy sum.
    """
    return add_levels(*a_weight(bands_db))


def add_bands(*spectra_db: Sequence[float]) -> Bands:
    """Octave levels in dB of several sources together; of none, silence in each band.

    Raises
    ------
    ValueError
        If a spectrum has not eight values.

    Source: energy sum, band by band.
    """
    if not spectra_db:
        return (SILENCE_DB,) * len(A_WEIGHTING_DB)
    checked = [require_bands("the spectrum", each) for each in spectra_db]
    return tuple(add_levels(*column) for column in zip(*checked, strict=True))


def shift_bands(bands_db: Sequence[float], change_db: float) -> Bands:
    """Octave levels in dB, each moved by the same change in dB.

    Raises
    ------
    ValueError
        If there are not eight.

    Source: arithmetic.
    """
    return tuple(band + change_db for band in require_bands("the spectrum", bands_db))


def spectrum_for(lwa_db: float, shape_name: str) -> Bands:
    """Unweighted octave levels in dB whose A-weighted sum is `lwa_db`, in one of the assumed `SHAPES`.

    Raises
    ------
    ValueError
        If there is no such shape.

    Source: `SHAPES`; assumed, not measured.
    """
    shape = require_known("spectrum shape", shape_name, SHAPES)
    return shift_bands(shape, lwa_db - a_weighted_total(shape))


def directivity_q(surface: str) -> float:
    """Directivity factor Q (no unit) of a source on the given surface, see `SURFACE_Q`.

    Raises
    ------
    ValueError
        If there is no such surface.

    Source: image sources at hard surfaces, handbook.
    """
    return require_known("place of a source", surface, SURFACE_Q)


def distance_transfer_db(distance_m: float, surface: str = "free") -> float:
    """Lp - Lw in dB at a distance with nothing reflecting but the surface the source stands on.

    Raises
    ------
    ValueError
        If the distance is not above zero, or the surface unknown.

    Source: spherical spreading, `10 lg(Q / (4 pi r**2))`.
    """
    require_positive("the distance in metres", distance_m)
    return 10.0 * math.log10(directivity_q(surface) / (4.0 * math.pi * distance_m**2))


def lw_from_pressure(lp_dba: float, distance_m: float, surface: str = "free") -> float:
    """Sound power level in dBA from a sound pressure level in dBA read at a distance, direct field only.

    In a room the reading holds reflected sound as well, so the result is then high by some decibels.

    Raises
    ------
    ValueError
        If the distance is not above zero, or the surface unknown.

    Source: spherical spreading with directivity factor Q.
    """
    return lp_dba - distance_transfer_db(distance_m, surface)
