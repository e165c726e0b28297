"""A change of fans as people write it: another voltage, another speed, or other fans for the same air."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, InstanceOf, WithJsonSchema, model_validator

from planner.inventory.models.types import Decibels, Section, Share, Volts
from planner.inventory.text.errors import show
from planner.inventory.text.units import LENGTH, UnitError, parse_whole

FANS_EXAMPLE = "6 x 40 mm"
COUNT_AND_SIZE = re.compile(r"\s*(\d+)\s*x\s*(.+)", re.DOTALL)


@dataclass(frozen=True)
class FanSet:
    """So many fans of a diameter."""

    count: int
    diameter_mm: float


def parse_fans(value: Any) -> FanSet:
    """Read fans written like ``6 x 40 mm``; UnitError when they are not."""
    if isinstance(value, FanSet):
        return value
    match = COUNT_AND_SIZE.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        raise UnitError(f"{show(value)}?", f"write fans as count x diameter, such as '{FANS_EXAMPLE}'")
    count, diameter_m = parse_whole(match[1]), LENGTH.parse(match[2])
    if count == 0 or not 0.01 <= diameter_m <= 1.0:
        raise UnitError(f"{show(value)}?", "write at least one fan of 10 mm to 1 m")
    return FanSet(count, 1000.0 * diameter_m)


Fans = Annotated[
    InstanceOf[FanSet],
    BeforeValidator(parse_fans),
    WithJsonSchema({"type": "string", "examples": [FANS_EXAMPLE]}),
]


class FansModel(Section):
    """A change of a source's fans: exactly one of voltage, speed or other fans at equal airflow."""

    from_v: Volts | None = Field(default=None, alias="from", description="Voltage at the fans today.")
    to_v: Volts | None = Field(default=None, alias="to", description="Voltage at the fans then.")
    starts_at_v: Volts | None = Field(
        default=None,
        alias="starts_at",
        description="Least voltage at which they started, eight times of eight.",
    )
    speed: Share | None = Field(default=None, description="Speed then, as a share of today's.")
    old: Fans | None = Field(default=None, description="Fans today, such as '6 x 40 mm'.")
    new: Fans | None = Field(default=None, description="Fans that move the same air then.")
    floor_db: Decibels | None = Field(
        default=None, alias="floor", description="How far under today's level what is no fan noise lies."
    )

    @model_validator(mode="after")
    def _one_way(self) -> FansModel:
        pairs = {"from and to": (self.from_v, self.to_v), "old and new": (self.old, self.new)}
        for words, (first, second) in pairs.items():
            if (first is None) != (second is None):
                raise UnitError("half a change of fans.", f"Write both {words}.")
        ways = [self.from_v is not None, self.speed is not None, self.old is not None]
        if sum(ways) != 1:
            raise UnitError("which change of fans?", "write from and to, or speed, or old and new")
        if self.speed == 0.0 or min(self.from_v or 2.0, self.to_v or 2.0) <= 1.0:
            raise UnitError("the fans would stand still.", "Write a speed, or voltages above 1 V.")
        return self
