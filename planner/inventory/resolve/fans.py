"""A change of fans by the fan laws: level, air and pressure, and what may go wrong."""

from __future__ import annotations

from dataclasses import dataclass

from planner.inventory.models.fans import FansModel
from planner.physics import fans

USUAL_FLOOR_DB = 15.0
"""Motor tick, disks, supplies and the flow itself lie about this far under the fans; common practice."""

LEAST_AIR = 0.7
"""Under this share of today's air a machine's temperatures are in doubt; common practice."""

SAME = 1e-9


@dataclass(frozen=True)
class FanChange:
    """What a change of fans comes to; ratios are to today. ``doubts`` are sentences."""

    quieter_db: float
    speed_ratio: float
    air_ratio: float
    pressure_ratio: float
    doubts: tuple[str, ...]

    @property
    def words(self) -> str:
        """Level, air, pressure and the speed that they go with, as a sentence."""
        air, pressure, speed = (
            f"{100 * ratio:.0f} % of the" for ratio in (self.air_ratio, self.pressure_ratio, self.speed_ratio)
        )
        return f"{self.quieter_db:.1f} dB quieter, {air} air at {pressure} pressure and {speed} speed"


def fan_change(model: FansModel) -> FanChange:
    """Find what a change of fans does; a floor stays that does not slow down with them."""
    if model.old is not None and model.new is not None:
        swap = fans.replace_fans(
            model.old.count, model.old.diameter_mm, model.new.count, model.new.diameter_mm
        )
        change_db, speed, air, pressure = swap.level_change_db, swap.speed_ratio, 1.0, swap.pressure_ratio
    else:
        speed = model.speed or fans.voltage_speed_ratio(
            model.from_v or 0.0, model.to_v or 0.0, fans.ELECTRONICS_DROP_V
        )
        change_db = fans.speed_change_db(speed)
        air, pressure = fans.airflow_ratio(speed), fans.pressure_ratio(speed)
    floor_db = USUAL_FLOOR_DB if model.floor_db is None else model.floor_db
    left_db = min(0.0, fans.with_residual_floor_db(change_db, -floor_db)) if change_db < 0.0 else change_db
    return FanChange(-left_db, speed, air, pressure, _doubts(model, air, pressure, left_db))


def _doubts(model: FansModel, air: float, pressure: float, left_db: float) -> tuple[str, ...]:
    found = []
    if model.to_v is not None and fans.may_fail_to_start(model.to_v, model.starts_at_v):
        found.append(f"fans on {model.to_v:g} V may not start when cold: test eight starts of eight.")
    if air < LEAST_AIR:
        found.append(f"only {100 * air:.0f} % of the air is left: log temperatures under load first.")
    if model.new is not None and pressure < 1.0 - SAME:
        found.append(f"{100 * pressure:.0f} % of the pressure: in a dense chassis less air will flow.")
    if left_db >= 0.0:
        found.append("the fan laws make this no quieter.")
    return tuple(found)


def reduction_db(model: FansModel) -> float:
    """Compute how much quieter a change of fans is, dB, never less than nothing."""
    return max(0.0, fan_change(model).quieter_db)
