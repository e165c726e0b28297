"""Noise at work: how many hours a day a level may be borne, by the 3 dB and by the 5 dB exchange rate."""

from collections.abc import Mapping
from typing import NamedTuple

from planner.physics.checks import require_known

WORKING_DAY_H = 8.0
DAY_H = 24.0

LOUD_DBA = 80.0
"""From here on hours at a level are worth counting: lower action value of 2003/10/EC, from memory."""


class Limit(NamedTuple):
    """A limit: level in dBA allowed for eight hours, exchange rate in dB for half the time, source."""

    criterion_dba: float
    exchange_db: float
    source: str


EXPOSURE_LIMITS: Mapping[str, Limit] = {
    "NIOSH": Limit(85, 3, "recommended exposure limit"),
    "OSHA": Limit(90, 5, "US 29 CFR 1910.95, permissible limit"),
}
"""Limits of noise at work: the recommended and the US legal one. Local rules come first."""


def allowed_hours(lp_dba: float, limit: str) -> float:
    """Hours a day for which a level in dBA uses up the whole allowance, `8 / 2**((L - Lc) / q)`, 24 at most.

    Raises
    ------
    ValueError
        If the limit is unknown.

    Source: the limit's own.
    """
    criterion_dba, exchange_db, _ = require_known("exposure limit", limit, EXPOSURE_LIMITS)
    if lp_dba <= criterion_dba - 2.0 * exchange_db:
        return DAY_H
    return min(DAY_H, float(WORKING_DAY_H * 2.0 ** ((criterion_dba - lp_dba) / exchange_db)))
