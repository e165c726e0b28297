"""Fans by the fan laws: what speed, voltage, size, number and a warm inlet do to noise, flow and pressure."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

from planner.physics.checks import require_finite, require_not_negative, require_positive
from planner.physics.sound import add_levels

SPEED_EXPONENT_DB = 50.0
"""dB a decade of speed; 50 to 56 are in use."""

SIZE_EXPONENT_DB = 70.0
"""dB a decade of diameter at equal speed (from memory of the fan makers' handbook law)."""

ELECTRONICS_DROP_V = 1.0
"""Voltage that the electronics of a small DC fan keep for themselves, about 1 V of 12 V."""

START_CAUTION_V = 9.0
"""Below this supply a 12 V fan may fail to start: many start at 6 to 9 V, later when cold."""

START_MARGIN_V = 0.5
"""Margin in V above a voltage at which a fan started eight times out of eight."""

Steps: TypeAlias = tuple[tuple[float, float], ...]
"""(upper inlet temperature in C, rise in dB) pairs, temperatures ascending."""

INLET_STEPS: Steps = ((25.0, 0.0), (30.0, 4.7), (35.0, 6.4), (40.0, 8.4))
"""Rise of a server's A-weighted level in dB as its inlet warms and its fans speed up.

Assumed: from memory of a data-centre white paper of 2011; one declared data sheet supports the tendency.
"""


@dataclass(frozen=True)
class FanSwap:
    """What replacing fans at equal airflow asks for and gives."""

    speed_ratio: float
    pressure_ratio: float
    level_change_db: float


def inlet_rise_db(temp_c: float, steps: Steps) -> float:
    """Rise in dB of a server's level at an inlet temperature, as a staircase.

    The rise of the first step at or above `temp_c` (conservative); beyond the last, the last.

    Raises
    ------
    ValueError
        If there are no steps, they do not ascend, or the temperature is not a number.

    Source: the steps' own; see `INLET_STEPS` for what is taken where none are given.
    """
    require_finite("the inlet temperature in C", temp_c)
    if not steps or any(lower >= upper for (lower, _), (upper, _) in pairwise(steps)):
        raise ValueError("inlet steps must be given with ascending temperatures, at least one")
    return next((rise_db for upper_c, rise_db in steps if temp_c <= upper_c), steps[-1][1])


def speed_change_db(speed_ratio: float, exponent_db: float = SPEED_EXPONENT_DB) -> float:
    """Change of sound power level in dB when a fan turns at `speed_ratio` times its speed.

    Holds for the fan's own air noise only: motor, disks and air through grilles set a floor.

    Raises
    ------
    ValueError
        If the ratio is not above zero.

    Source: fan laws, `50 lg(N2/N1)`; exponents to 56 are in use.
    """
    return exponent_db * math.log10(require_positive("the speed ratio", speed_ratio))


def voltage_speed_ratio(from_v: float, to_v: float, electronics_drop_v: float = 0.0) -> float:
    """Speed ratio of a DC fan between two supply voltages, less what its electronics keep.

    Raises
    ------
    ValueError
        If a voltage is not above the drop, or the drop is negative.

    Source: common practice; speed about proportional to the voltage at the motor.
    """
    drop_v = require_not_negative("the drop of the electronics in V", electronics_drop_v)
    before_v = require_positive("the voltage left for the motor before", from_v - drop_v)
    return require_positive("the voltage left for the motor after", to_v - drop_v) / before_v


def size_change_db(diameter_ratio: float) -> float:
    """Change of sound power level in dB with the diameter at equal speed.

    Raises
    ------
    ValueError
        If the ratio is not above zero.

    Source: `70 lg(D2/D1)`, from memory.
    """
    return SIZE_EXPONENT_DB * math.log10(require_positive("the diameter ratio", diameter_ratio))


def count_change_db(count_ratio: float) -> float:
    """Change of level in dB when there are `count_ratio` times as many equal fans.

    Raises
    ------
    ValueError
        If the ratio is not above zero.

    Source: energy sum.
    """
    return 10.0 * math.log10(require_positive("the number of fans", count_ratio))


def airflow_ratio(speed_ratio: float, diameter_ratio: float = 1.0) -> float:
    """Airflow relative to before, `N D**3` (no unit).

    Raises
    ------
    ValueError
        If a ratio is not above zero.

    Source: fan laws.
    """
    _require_ratios(speed_ratio, diameter_ratio)
    return speed_ratio * float(diameter_ratio**3)


def pressure_ratio(speed_ratio: float, diameter_ratio: float = 1.0) -> float:
    """Pressure relative to before, `N**2 D**2` (no unit).

    Raises
    ------
    ValueError
        If a ratio is not above zero.

    Source: fan laws.
    """
    _require_ratios(speed_ratio, diameter_ratio)
    return float(speed_ratio**2) * float(diameter_ratio**2)


def replace_fans(old_count: int, old_diameter_mm: float, new_count: int, new_diameter_mm: float) -> FanSwap:
    """Speed ratio, pressure ratio and change of level in dB of other fans that move the same air.

    A `pressure_ratio` under 1 is a warning: a dense chassis may need the old pressure, and flow then falls.

    Raises
    ------
    ValueError
        If a count or diameter is not above zero.

    Source: fan laws; the size law (70 lg D) is from memory.
    """
    fans_ratio = require_positive("the number of new fans", new_count) / require_positive(
        "the number of old fans", old_count
    )
    diameter_ratio = require_positive("the new diameter in mm", new_diameter_mm) / require_positive(
        "the old diameter in mm", old_diameter_mm
    )
    speed_ratio = 1.0 / (fans_ratio * airflow_ratio(1.0, diameter_ratio))
    change_db = count_change_db(fans_ratio) + size_change_db(diameter_ratio) + speed_change_db(speed_ratio)
    return FanSwap(speed_ratio, pressure_ratio(speed_ratio, diameter_ratio), change_db)


def may_fail_to_start(supply_v: float, tested_start_v: float | None = None) -> bool:
    """Say whether a 12 V fan may stand still after a cold start at this supply voltage.

    With a tested start voltage the limit is that plus 0.5 V, else the cautious 9 V.

    Raises
    ------
    ValueError
        If a voltage is negative.

    Source: test method of a hobby page (eight starts of eight); common practice.
    """
    require_not_negative("the supply voltage", supply_v)
    if tested_start_v is None:
        return supply_v < START_CAUTION_V
    return supply_v < require_not_negative("the tested start voltage", tested_start_v) + START_MARGIN_V


def with_residual_floor_db(fan_level_db: float, floor_db: float) -> float:
    """Level in dB of a fan together with what does not slow down with it: motor tick, disks, coils.

    Raises
    ------
    ValueError
        If a level is not a number.

    Source: energy sum; that there is a floor is common practice.
    """
    return add_levels(fan_level_db, floor_db)


def _require_ratios(speed_ratio: float, diameter_ratio: float) -> None:
    require_positive("the speed ratio", speed_ratio)
    require_positive("the diameter ratio", diameter_ratio)
