"""Single-number ratings of a partition from sixteen third-octave bands: STC and Rw.

Both are ratings for speech; for the hum and hiss of fans compute in bands. Neither can be had from octaves.
"""

import math
from collections.abc import Sequence

STC_CONTOUR_DB = (-16, -13, -10, -7, -4, -1, 0, 1, 2, 3, 4, 4, 4, 4, 4, 4)
"""ASTM E413 contour in dB relative to 500 Hz, third octaves 125 Hz to 4 kHz."""

RW_CONTOUR_DB = (-19, -16, -13, -10, -7, -4, -1, 0, 1, 2, 3, 4, 4, 4, 4, 4)
"""ISO 717-1 contour in dB relative to 500 Hz, third octaves 100 Hz to 3.15 kHz."""

MAX_DEFICIENCY_SUM_DB = 32.0
MAX_DEFICIENCY_DB = 8.0

ROUNDING_DB = 1e-9
"""Slack in dB for sums of decimal fractions that should be whole."""


def stc(third_octave_tl_db: Sequence[float], round_to_whole_db: bool = True) -> int:
    """Sound transmission class from sixteen third-octave transmission losses in dB, 125 Hz to 4 kHz.

    The highest contour whose deficiencies sum to at most 32 dB and are none above 8 dB. Losses are first
    rounded to whole decibels as the test method reports them, unless told not to.

    Raises
    ------
    ValueError
        If there are not sixteen values (octaves cannot be rated), or one is not a number.

    Source: ASTM E413; rounding as in ASTM E90 (both through secondary sources).
    """
    losses = _sixteen(third_octave_tl_db)
    if round_to_whole_db:
        losses = [_round_half_up(loss) for loss in losses]
    return _highest_contour(losses, STC_CONTOUR_DB, MAX_DEFICIENCY_DB)


def weighted_reduction_rw(third_octave_r_db: Sequence[float]) -> int:
    """Weighted sound reduction index Rw from sixteen third-octave values in dB, 100 Hz to 3.15 kHz.

    As STC, but with other bands, values rounded to 0.1 dB and no limit on a single deficiency.

    Raises
    ------
    ValueError
        If there are not sixteen values, or one is not a number.

    Source: ISO 717-1 (through a library).
    """
    losses = [_round_half_up(10.0 * loss) / 10.0 for loss in _sixteen(third_octave_r_db)]
    return _highest_contour(losses, RW_CONTOUR_DB, math.inf)


def _sixteen(losses_db: Sequence[float]) -> list[float]:
    if len(losses_db) != len(STC_CONTOUR_DB):
        raise ValueError(
            f"a single-number rating needs 16 third-octave values, not {len(losses_db)}: octave values "
            "cannot be rated, keep the rating printed with them"
        )
    if not all(math.isfinite(loss) for loss in losses_db):
        raise ValueError("every transmission loss must be an ordinary number")
    return list(losses_db)


def _round_half_up(value: float) -> float:
    return math.floor(value + 0.5)


def _highest_contour(losses_db: Sequence[float], contour_db: Sequence[int], cap_db: float) -> int:
    rating = math.floor(max(loss - shape for loss, shape in zip(losses_db, contour_db, strict=True)))
    rating += int(MAX_DEFICIENCY_SUM_DB)
    while not _meets(rating, losses_db, contour_db, cap_db):
        rating -= 1
    return rating


def _meets(rating: int, losses_db: Sequence[float], contour_db: Sequence[int], cap_db: float) -> bool:
    gaps = [max(0.0, rating + c - loss) for loss, c in zip(losses_db, contour_db, strict=True)]
    return sum(gaps) <= MAX_DEFICIENCY_SUM_DB + ROUNDING_DB and max(gaps) <= cap_db + ROUNDING_DB
