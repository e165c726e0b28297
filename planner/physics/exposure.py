"""Noise at work: how long a level may be borne, dose, and the level over a working day."""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple, TypeAlias

from planner.physics.checks import require_finite, require_known, require_not_negative, require_positive
from planner.physics.sound import add_levels

WORKING_DAY_H = 8.0

OSHA_TWA_SLOPE = 16.61
"""dB a decade of dose with a 5 dB exchange rate, `5 / lg 2` as the rule prints it."""

OSHA_COUNTED_FROM_DBA = 80.0
"""Levels below are left out of the dose for the hearing programme (from memory); the limit counts from 90."""

Exposure: TypeAlias = tuple[float, float]
"""A level in dBA and the hours it lasts."""


class Regime(NamedTuple):
    """A limit: level in dBA allowed for eight hours, exchange rate in dB for half the time, source."""

    criterion_dba: float
    exchange_db: float
    source: str


EXPOSURE_LIMITS: Mapping[str, Regime] = {
    "niosh": Regime(85, 3, "NIOSH recommended exposure limit"),
    "osha": Regime(90, 5, "US 29 CFR 1910.95, permissible limit"),
    "osha-action": Regime(85, 5, "US 29 CFR 1910.95, hearing conservation programme"),
    "eu-lower": Regime(80, 3, "2003/10/EC lower action value, from memory"),
    "eu-upper": Regime(85, 3, "2003/10/EC upper action value, from memory"),
    "eu-limit": Regime(87, 3, "2003/10/EC limit with protectors worn, from memory"),
    "canada": Regime(87, 3, "Canadian federal table"),
}
"""Limits of noise at work, by a short name."""


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


def dose_percent(exposures: Sequence[Exposure], regime: str = "niosh") -> float:
    """Share in percent of a day's allowance used by (level in dBA, hours) pairs.

    Raises
    ------
    ValueError
        If the regime is unknown, a level is not a number, or hours are negative.

    Source: the regime's own.
    """
    return 100.0 * sum(_hours(hours) / allowed_hours(lp_dba, regime) for lp_dba, hours in exposures)


def osha_dose_percent(
    exposures: Sequence[Exposure], counted_from_dba: float = OSHA_COUNTED_FROM_DBA
) -> float:
    """Dose in percent as the US rule's table has it: durations rounded to 0.1 h, 0.01 h under one hour.

    Raises
    ------
    ValueError
        If a level is not a number, or hours are negative.

    Source: US 29 CFR 1910.95, worked doses.
    """
    counted = [(lp_dba, _hours(hours)) for lp_dba, hours in exposures if lp_dba >= counted_from_dba]
    return 100.0 * sum(hours / _osha_table_hours(lp_dba) for lp_dba, hours in counted)


def osha_twa_dba(dose_pct: float) -> float:
    """Eight-hour level in dBA that gives a dose in percent, `16.61 lg(D / 100) + 90`.

    Raises
    ------
    ValueError
        If the dose is not above zero.

    Source: US 29 CFR 1910.95 appendix A, from memory.
    """
    share = require_positive("the dose in percent", dose_pct) / 100.0
    return OSHA_TWA_SLOPE * math.log10(share) + EXPOSURE_LIMITS["osha"].criterion_dba


def lex_8h_dba(exposures: Sequence[Exposure]) -> float:
    """Daily noise exposure level in dBA of (level in dBA, hours) pairs, spread over eight hours.

    Raises
    ------
    ValueError
        If a level is not a number, or hours are negative.

    Source: definition of L_EX,8h (ISO 1999).
    """
    shares = [(lp_dba, _hours(hours) / WORKING_DAY_H) for lp_dba, hours in exposures]
    return add_levels(*(lp_dba + 10.0 * math.log10(share) for lp_dba, share in shares if share > 0))


def _hours(hours: float) -> float:
    return require_not_negative("the hours of an exposure", hours)


def _osha_table_hours(lp_dba: float) -> float:
    hours = allowed_hours(lp_dba, "osha")
    return round(hours, 1 if hours >= 1.0 else 2)
