"""Power, boxes, gear and the catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from planner.inventory.defaults.equipment_classes import SORTS
from planner.inventory.models.resources import HasModel
from planner.inventory.models.sound import SoundModel
from planner.inventory.models.types import (
    Hours,
    Money,
    Name,
    PowerW,
    Section,
    Text,
    Whole,
    Yes,
    choice,
)
from planner.inventory.text.errors import show
from planner.inventory.text.units import UnitError


class PowerModel(Section):
    """What a machine draws at the wall."""

    idle_w: PowerW | None = Field(default=None, alias="idle", description="Draw when idle.")
    peak_w: PowerW | None = Field(default=None, alias="peak", description="Draw at full load.")

    @model_validator(mode="before")
    @classmethod
    def _mapping(cls, value: Any) -> Any:
        if isinstance(value, dict):
            return value
        raise UnitError(f"{show(value)}?", "write {idle: 90 W, peak: 180 W}; one of the two is enough")

    @model_validator(mode="after")
    def _in_order(self) -> PowerModel:
        if self.idle_w is None and self.peak_w is None:
            raise UnitError("no power.", "Write idle or peak, such as {idle: 90 W}.")
        if self.idle_w is not None and self.peak_w is not None and self.peak_w < self.idle_w:
            raise UnitError("peak is less than idle.", "Swap the two, or measure again.")
        return self


class MachineModel(HasModel):
    """What boxes and kinds have in common."""

    power: PowerModel = Field(description="Draw at the wall.")
    sound: SoundModel | None = Field(default=None, description="How loud it is.")
    rack_u: Whole = Field(
        default=0, alias="rack_units", description="Height in the rack; 0: it stands elsewhere."
    )
    offers: tuple[Name, ...] = Field(default=(), description="Hardware it offers, such as usb-dongle.")
    zones: Whole = Field(default=1, description="How many network zones it may carry.")
    ups: Yes = Field(default=False, description="Its power comes through the UPS.")


class ReuseModel(Section):
    """What it takes to make a box a host."""

    price: Money = Field(default=0.0, description="Money.")
    hours: Hours = Field(default=0.0, description="Hours of work.")


class BoxModel(MachineModel):
    """A physical machine that is there today."""

    circuit: Name | None = Field(
        default=None, description="Circuit it hangs on; may be left out where there is one."
    )
    hosts: Yes = Field(default=False, description="It carries virtual machines today.")
    reuse: ReuseModel | None = Field(
        default=None, description="It may become a host, at this price and work."
    )
    stays: Text | None = Field(default=None, description="Why it stays switched on whatever runs there.")


class KindModel(MachineModel):
    """A machine that may be bought or built."""

    role: Annotated[Literal["host", "appliance", "tower"], *choice("role", "host", "appliance", "tower")] = (
        Field(description="host carries virtual machines; appliance and tower carry services directly.")
    )
    price: Money = Field(description="Price of one.")
    hours: Hours = Field(default=0.0, description="Hours of work to set one up.")
    up_to: Whole | None = Field(default=None, description="How many may be bought.")


class GearModel(Section):
    """A thing that is no server but makes noise or heat."""

    sort: Annotated[str, *choice("sort of gear", *SORTS)] | None = Field(
        default=None, description="What it is; sets the sound where none is given."
    )
    power_w: PowerW = Field(alias="power", description="Draw at the wall.")
    leaves_room_w: PowerW = Field(
        default=0.0, alias="leaves_room", description="Part that heats elsewhere (PoE)."
    )
    sound: SoundModel | None = Field(default=None, description="How loud it is.")
    circuit: Name | None = Field(default=None, description="Circuit it hangs on.")
    rack_u: Whole = Field(default=0, alias="rack_units", description="Height in the rack.")
    ups: Yes = Field(default=False, description="Its power comes through the UPS.")

    @model_validator(mode="after")
    def _complete(self) -> GearModel:
        if self.sound is None and self.sort is None:
            raise UnitError("neither sound nor sort.", f"Write its sound, or sort: {', '.join(SORTS)}.")
        if self.leaves_room_w > self.power_w:
            raise UnitError("more power leaves the room than it draws.", "Correct leaves_room or power.")
        return self


Boxes = Mapping[Name, BoxModel]
Kinds = Mapping[Name, KindModel]
GearItems = Mapping[Name, GearModel]
