"""Noise criteria of a room: NC numbers of spectra by the tangency method, what a level is good enough for."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from planner.physics.bands import Bands, require_bands
from planner.physics.checks import require_known

NC_RATINGS = (15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70)
"""The NC curves there are, the columns of `NC_CURVES_DB`."""

NC_STEP = 5

NC_CURVES_DB: tuple[Bands, ...] = (
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
)
"""Octave levels in dB of the NC curves, 63 Hz to 8 kHz: the published Beranek/ASHRAE table."""

NC_EDITION = "classic"
"""Name of that edition; table 1 of ANSI/ASA S12.2-2019 is up to 2 dB apart."""


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


def nc_rating(bands_db: Sequence[float]) -> float:
    """NC number of a spectrum in dB by tangency, interpolated between the curves.

    Under the lowest curve it is 15, meaning '15 or less'; above NC-70 the last step is carried on (assumed).

    Raises
    ------
    ValueError
        If there are not eight values.

    Source: `NC_CURVES_DB`; tangency (touching the highest curve).
    """
    bands = require_bands("the spectrum", bands_db)
    columns = zip(*NC_CURVES_DB, strict=True)
    return max(_nc_in_band(band_db, column) for band_db, column in zip(bands, columns, strict=True))


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


def _nc_in_band(band_db: float, column_db: Sequence[float]) -> float:
    if band_db <= column_db[0]:
        return float(NC_RATINGS[0])
    above = next((i for i, curve_db in enumerate(column_db) if curve_db >= band_db), len(column_db) - 1)
    low_db, high_db = column_db[above - 1], column_db[above]
    return NC_RATINGS[above - 1] + NC_STEP * (band_db - low_db) / (high_db - low_db)
