"""Noise at work: how many hours a day a level may be borne, by the equal-energy and the 5 dB rule."""

from collections.abc import Mapping
from typing import NamedTuple

from planner.physics.checks import require_finite, require_known

WORKING_DAY_H = 8.0

LOUD_DBA = 80.0
"""From here on noise at work is looked at: lower action value of 2003/10/EC, from memory."""


class Regime(NamedTuple):
    """A limit: level in dBA allowed for eight hours, exchange rate in dB for half the time, source."""

    criterion_dba: float
    exchange_db: float
    source: str


EXPOSURE_LIMITS: Mapping[str, Regime] = {
    "niosh": Regime(85, 3, "NIOSH recommended exposure limit"),
    "osha": Regime(90, 5, "US 29 CFR 1910.95, permissible limit"),
}
"""Limits of noise at work: the recommended and the US legal one. Local rules come first."""


def allowed_hours(lp_dba: float, regime: str = "niosh") -> float:
    """Hours a day for which a level in dBA uses up the whole allowance, `8 / 2**((L - Lc) / q)`.

    Raises
    ------
    ValueError
        If the regime is unknown, or the level not a number.

    Source: the regime's own.
    """
    limit = require_known("exposure limit", regime, EXPOSURE_LIMITS)
    require_finite("the level in dBA", lp_dba)
    return float(WORKING_DAY_H * 2.0 ** ((limit.criterion_dba - lp_dba) / limit.exchange_db))
