"""Quieting measures on a source or on the room."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field, model_validator

from planner.domain.measures import ROOM
from planner.inventory.defaults.measure_library import LIBRARY
from planner.inventory.models.fans import FansModel
from planner.inventory.models.places import ElementLossModel, SurfaceModel
from planner.inventory.models.sound import SoundModel
from planner.inventory.models.types import (
    ConductanceChangeWK,
    FlowChangeM3S,
    Hours,
    Money,
    Name,
    PowerChangeW,
    ReductionDb,
    Section,
    Yes,
    choice,
)
from planner.inventory.text.units import UnitError

SOURCE_KEYS = ("quieter", "fans", "sound", "power", "removes", "elsewhere")
ROOM_KEYS = ("adds", "elements", "leak", "heat_loss")
FIGURES = {
    "quieter_db": "quieter",
    "sound": "sound",
    "power_delta_w": "power",
    "adds": "adds",
    "elements": "elements",
    "price": "price",
    "hours": "hours",
}
"""Field and written name of the figures that a library may give."""


class MeasureModel(Section):
    """A quieting step: what it acts on, what it does, what it takes."""

    library: Annotated[str, *choice("measure in the library", *LIBRARY)] | None = Field(
        default=None, description="Usual measure whose figures are taken where none are written: assumed."
    )
    part: Name | None = Field(
        default=None, description="Part of a partition that a measure of the library acts on."
    )
    target: Name = Field(description="Box, gear or cooling option by name, or 'room'.")
    quieter_db: ReductionDb | None = Field(default=None, alias="quieter", description="So much quieter.")
    fans: FansModel | None = Field(default=None, description="Change of its fans, by the fan laws.")
    sound: SoundModel | None = Field(default=None, description="Sound of what takes its place.")
    power_delta_w: PowerChangeW | None = Field(
        default=None, alias="power", description="Change of its power."
    )
    removes: Yes | None = Field(default=None, description="It takes gear away, with what it draws.")
    elsewhere: Yes | None = Field(
        default=None, description="It puts gear into another room, where it works on and draws what it did."
    )
    adds: Mapping[Name, SurfaceModel] | None = Field(default=None, description="Absorbing surfaces put in.")
    elements: Mapping[Name, ElementLossModel] | None = Field(
        default=None, description="Partition parts made better."
    )
    leak_delta_m3_s: FlowChangeM3S | None = Field(
        default=None, alias="leak", description="Change of the room's leak."
    )
    ua_delta_w_k: ConductanceChangeWK | None = Field(
        default=None, alias="heat_loss", description="Change of the walls' heat conductance."
    )
    price: Money = Field(default=0.0, description="Price.")
    hours: Hours = Field(default=0.0, description="Hours of work.")
    cautions: tuple[Name, ...] = Field(default=(), description="Hazards to be shown with it.")
    excludes: tuple[Name, ...] = Field(default=(), description="Measures or options that cannot go with it.")
    requires: tuple[Name, ...] = Field(
        default=(), description="Measures or options that must be there with it."
    )
    allowed: Yes = Field(default=True, description="Whether it may be taken at all.")

    @model_validator(mode="before")
    @classmethod
    def _from_library(cls, value: Any) -> Any:
        """Put the library's figures under those that are written."""
        key = value.get("library") if isinstance(value, dict) else None
        if not isinstance(key, str) or key not in LIBRARY:
            return value
        part = value.get("part")
        if isinstance(part, list | dict):
            return value  # the part is told to be no name, and which library it was for does not matter
        usual = LIBRARY[key].written(part)
        if usual is None:
            raise UnitError("which part of the partition?", "Write 'part:' with its name.")
        return {**usual, **value}

    @property
    def from_library(self) -> frozenset[str]:
        """The names of the figures that stand as the library has them."""
        if self.library is None:
            return frozenset()
        usual = type(self).model_validate({"library": self.library, "target": self.target, "part": self.part})
        same = {field for field in FIGURES if getattr(self, field) == getattr(usual, field)}
        return frozenset(FIGURES[field] for field in same if getattr(usual, field))

    @property
    def on_source(self) -> bool:
        """Whether it has an effect on a source."""
        return bool(self.changes_sound or self.power_delta_w is not None or self.takes_out)

    @property
    def changes_sound(self) -> bool:
        """Whether it changes how a source sounds."""
        return any((self.quieter_db, self.fans, self.sound))

    @property
    def takes_out(self) -> bool:
        """Whether it takes its target out of the room."""
        return bool(self.removes or self.elsewhere)

    @property
    def on_room(self) -> bool:
        """Whether it has an effect on the room."""
        deltas = self.leak_delta_m3_s is not None or self.ua_delta_w_k is not None
        return bool(self.adds or self.elements or deltas)

    @model_validator(mode="after")
    def _effect_fits_target(self) -> MeasureModel:
        room = self.target == ROOM
        if self.fans is not None and self.quieter_db:
            raise UnitError("both fans and quieter?", "keep what was measured, or else the change of fans")
        if not self.on_source and not self.on_room:
            words = ROOM_KEYS if room else SOURCE_KEYS
            raise UnitError("it does nothing.", f"Write an effect: {', '.join(words)}.")
        if room and self.on_source:
            raise UnitError(
                "an effect on a source, but the target is the room.", "Name the source as target."
            )
        if not room and self.on_room:
            raise UnitError("an effect on the room, but the target is a source.", "Write 'target: room'.")
        return self

    @model_validator(mode="after")
    def _one_way_out(self) -> MeasureModel:
        if self.removes and self.elsewhere:
            raise UnitError(
                "both removes and elsewhere?", "keep 'elsewhere' where it works on in another room"
            )
        if self.takes_out and (self.changes_sound or (self.removes and self.power_delta_w is not None)):
            raise UnitError("it leaves the room, and changes there too?", "keep one of the two effects")
        return self


Measures = Mapping[Name, MeasureModel]
