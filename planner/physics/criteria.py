"""Noise criteria of a room: NC, NR and RC numbers of a spectrum, and what a level is good enough for."""

import math
from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple, TypeAlias

from planner.physics.bands import OCTAVE_HZ, Bands, require_bands
from planner.physics.checks import require_known

NcEdition: TypeAlias = Literal["classic", "2019"]

NC_RATINGS = (15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70)
"""The NC curves there are, the columns of `NC_CURVES_DB`."""

NC_STEP = 5

NC_CURVES_DB: Mapping[str, tuple[Bands, ...]] = {
    "classic": (
        (47, 36, 29, 22, 17, 14, 12, 11),
        (51, 40, 33, 26, 22, 19, 17, 16),
        (54, 44, 37, 31, 27, 24, 22, 21),
        (57, 48, 41, 35, 31, 29, 28, 27),
        (60, 52, 45, 40, 36, 34, 33, 32),
        (64, 56, 50, 45, 41, 39, 38, 37),
        (67, 60, 54, 49, 46, 44, 43, 42),
        (71, 64, 58, 54, 51, 49, 48, 47),
        (74, 67, 62, 58, 56, 54, 53, 52),
        (77, 71, 67, 63, 61, 59, 58, 57),
        (80, 75, 71, 68, 66, 64, 63, 62),
        (83, 79, 75, 72, 71, 70, 69, 68),
    ),
    "2019": (
        (47, 36, 28, 22, 18, 14, 12, 11),
        (50, 40, 33, 26, 22, 20, 17, 16),
        (54, 44, 37, 31, 27, 24, 22, 22),
        (57, 48, 41, 35, 32, 29, 28, 27),
        (60, 52, 45, 40, 36, 34, 33, 32),
        (64, 56, 50, 44, 41, 39, 38, 37),
        (67, 60, 54, 49, 46, 44, 43, 42),
        (71, 64, 58, 54, 51, 49, 48, 47),
        (74, 67, 62, 58, 56, 54, 53, 52),
        (77, 71, 66, 63, 60, 59, 58, 57),
        (80, 75, 71, 68, 65, 64, 63, 62),
        (84, 79, 75, 72, 71, 70, 68, 68),
    ),
}
"""Octave levels in dB of the NC curves, 63 Hz to 8 kHz, in two editions up to 2 dB apart.

`classic` is the published Beranek/ASHRAE table; `2019` table 1 of ANSI/ASA S12.2-2019 (through a library).
"""

NR_COEFFICIENTS: tuple[tuple[float, float], ...] = (
    (35.5, 0.79),
    (22.0, 0.87),
    (12.0, 0.93),
    (4.8, 0.974),
    (0.0, 1.0),
    (-3.5, 1.015),
    (-6.1, 1.025),
    (-8.0, 1.03),
)
"""(a, b) of the noise rating `L = a + b NR` in each octave band.

A handout after BS 8233:1999, except 63 Hz (35.5) and 500 Hz (4.8, 0.974), which are from memory: the handout
prints 35.4 and (4.2, 0.98), up to 0.4 dB apart.
"""

SPEECH_BANDS = slice(OCTAVE_HZ.index(500.0), OCTAVE_HZ.index(2000.0) + 1)

NORMAL_PRIVACY_SUM = 80.0
CONFIDENTIAL_PRIVACY_SUM = 86.0
"""STC plus background level in dBA for normal and confidential privacy, voices normal (secondary source)."""

Privacy: TypeAlias = Literal["confidential", "normal", "none"]


class RoomCriterion(NamedTuple):
    """What a use of a room asks for: NC and level in dBA, low and high end of the range, and the source."""

    nc_low: float
    nc_high: float
    dba_low: float
    dba_high: float
    source: str


_BY_ROOM = "secondary table of NC and dBA by room type"

ROOM_CRITERIA: Mapping[str, RoomCriterion] = {
    "recording": RoomCriterion(15, 20, 0, 30, f"{_BY_ROOM}; NC 15 from memory"),
    "concert": RoomCriterion(15, 20, 0, 30, f"{_BY_ROOM}; from memory"),
    "teleconference": RoomCriterion(20, 30, 30, 38, _BY_ROOM),
    "meeting": RoomCriterion(25, 30, 30, 35, "from memory (ASHRAE); Danish guidance at most 30 dBA"),
    "private-office": RoomCriterion(30, 35, 38, 42, f"{_BY_ROOM}; from memory NC 30, 35 dBA (ASHRAE)"),
    "open-plan": RoomCriterion(35, 40, 42, 47, f"{_BY_ROOM}; from memory NC 40, 45 dBA (ASHRAE)"),
    "lobby": RoomCriterion(40, 45, 47, 52, _BY_ROOM),
    "equipment-room": RoomCriterion(45, 55, 52, 61, _BY_ROOM),
}
"""Criteria by use, strictest first. For building services alone Danish guidance has 35 dBA in offices."""


def nc_rating(bands_db: Sequence[float], edition: NcEdition = "classic") -> float:
    """NC number of a spectrum in dB by tangency, interpolated between the curves.

    Under the lowest curve it is 15, meaning '15 or less'; above NC-70 the last step is carried on (assumed).

    Raises
    ------
    ValueError
        If there are not eight values, or the edition is unknown.

    Source: the edition's table, see `NC_CURVES_DB`.
    """
    return max(_nc_by_band(bands_db, edition))


def nc_governing_hz(bands_db: Sequence[float], edition: NcEdition = "classic") -> float:
    """Octave band in Hz in which a spectrum touches its NC curve, the lowest if several do.

    Raises
    ------
    ValueError
        If there are not eight values, or the edition is unknown.

    Source: as `nc_rating`.
    """
    by_band = _nc_by_band(bands_db, edition)
    return OCTAVE_HZ[by_band.index(max(by_band))]


def nc_next_step(bands_db: Sequence[float], edition: NcEdition = "classic") -> int:
    """NC number of a spectrum in dB by the other convention: the lowest curve of the table not exceeded.

    Raises
    ------
    ValueError
        If there are not eight values, or the edition is unknown.

    Source: common practice; as `nc_rating`.
    """
    return NC_STEP * math.ceil(round(nc_rating(bands_db, edition), 6) / NC_STEP)


def nc_curve(nc: float, edition: NcEdition = "classic") -> Bands:
    """Octave levels in dB of an NC curve, interpolated between the tabled ones.

    Raises
    ------
    ValueError
        If the number lies outside 15 to 70, or the edition is unknown.

    Source: the edition's table, see `NC_CURVES_DB`.
    """
    curves = require_known("NC edition", edition, NC_CURVES_DB)
    if not NC_RATINGS[0] <= nc <= NC_RATINGS[-1]:
        raise ValueError(f"NC curves run from {NC_RATINGS[0]} to {NC_RATINGS[-1]}, not {nc}")
    step = min(int(nc - NC_RATINGS[0]) // NC_STEP, len(NC_RATINGS) - 2)
    share = (nc - NC_RATINGS[step]) / NC_STEP
    return tuple(low + share * (high - low) for low, high in zip(curves[step], curves[step + 1], strict=True))


def nr_rating(bands_db: Sequence[float]) -> float:
    """Noise rating NR of a spectrum in dB: the highest `(L - a) / b`.

    Raises
    ------
    ValueError
        If there are not eight values.

    Source: `NR_COEFFICIENTS`, partly from memory.
    """
    bands = require_bands("the spectrum", bands_db)
    return max((band - a) / b for band, (a, b) in zip(bands, NR_COEFFICIENTS, strict=True))


def nr_curve(nr: float) -> Bands:
    """Octave levels in dB of a noise rating curve.

    Source: `NR_COEFFICIENTS`, partly from memory.
    """
    return tuple(a + b * nr for a, b in NR_COEFFICIENTS)


def rc_mark2_number(bands_db: Sequence[float]) -> int:
    """RC Mark II number of a spectrum in dB: the mean of 500 Hz, 1 kHz and 2 kHz, to a whole number.

    Its letter for sound quality is not given: that needs the 16 and 31.5 Hz bands.

    Raises
    ------
    ValueError
        If there are not eight values.

    Source: ANSI/ASA S12.2-2019 annex D (through a library).
    """
    speech = require_bands("the spectrum", bands_db)[SPEECH_BANDS]
    return math.floor(sum(speech) / len(speech) + 0.5)


def good_for(use: str, lp_dba: float, nc: float | None = None) -> bool:
    """Say whether a level in dBA, and an NC number if known, are low enough for a use of `ROOM_CRITERIA`.

    The high end of the range decides.

    Raises
    ------
    ValueError
        If the use is unknown.

    Source: the row's own.
    """
    criterion = require_known("use of a room", use, ROOM_CRITERIA)
    return lp_dba <= criterion.dba_high and (nc is None or nc <= criterion.nc_high)


def uses_met(lp_dba: float, nc: float | None = None) -> tuple[str, ...]:
    """Names of the uses for which a level in dBA (and an NC number) is low enough, strictest first.

    Source: `ROOM_CRITERIA`.
    """
    return tuple(use for use in ROOM_CRITERIA if good_for(use, lp_dba, nc))


def privacy_sum(stc: float, background_dba: float) -> float:
    """Speech privacy sum: STC of the partition plus background level in dBA on the listener's side.

    Quieting a room lowers the background, and with it privacy, by the same number.

    Source: rule for normal voices, secondary source.
    """
    return stc + background_dba


def speech_privacy(stc: float, background_dba: float) -> Privacy:
    """Privacy that a partition and a background level in dBA give for normal voices.

    Source: sums of 80 (normal) and 86 (confidential), secondary source.
    """
    total = privacy_sum(stc, background_dba)
    if total >= CONFIDENTIAL_PRIVACY_SUM:
        return "confidential"
    return "normal" if total >= NORMAL_PRIVACY_SUM else "none"


def _nc_by_band(bands_db: Sequence[float], edition: NcEdition) -> list[float]:
    curves = require_known("NC edition", edition, NC_CURVES_DB)
    bands = require_bands("the spectrum", bands_db)
    return [
        _nc_in_band(band_db, column) for band_db, column in zip(bands, zip(*curves, strict=True), strict=True)
    ]


def _nc_in_band(band_db: float, column_db: Sequence[float]) -> float:
    if band_db <= column_db[0]:
        return float(NC_RATINGS[0])
    above = next((i for i, curve_db in enumerate(column_db) if curve_db >= band_db), len(column_db) - 1)
    low_db, high_db = column_db[above - 1], column_db[above]
    return NC_RATINGS[above - 1] + NC_STEP * (band_db - low_db) / (high_db - low_db)
