"""How loud a source is, as people write it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from planner.inventory.defaults.equipment_classes import CLASSES
from planner.inventory.models.types import (
    Decibels,
    LevelDba,
    Section,
    Shape,
    SoundLevel,
    Yes,
    choice,
)
from planner.inventory.text.errors import show
from planner.inventory.text.levels import EXAMPLES
from planner.inventory.text.units import DECIBELS, TEMPERATURE, UnitError
from planner.physics.sound import MIN_BACKGROUND_GAP_DB, SURFACE_Q


def parse_steps(value: Any) -> tuple[tuple[float, float], ...]:
    """Read ``{25 °C: 0 dB, 30 °C: 4.7 dB}``: up to that inlet temperature, so much louder.

    Raises
    ------
    UnitError
        If it is no mapping of temperatures to decibels.
    """
    if not isinstance(value, dict) or not value:
        raise UnitError(f"{show(value)}?", "write steps such as {25 °C: 0 dB, 30 °C: 4.7 dB}")
    return tuple(sorted((TEMPERATURE.parse(key), DECIBELS.parse(rise)) for key, rise in value.items()))


InletSteps = Annotated[
    tuple[tuple[float, float], ...],
    BeforeValidator(parse_steps),
    Field(json_schema_extra={"type": "object", "additionalProperties": {"type": "string"}}),
]


Declared = Annotated[Literal["mean", "maximum"], *choice("sort of declaration", "mean", "maximum")]


class SoundModel(Section):
    """How loud a source is: a level in figures, or a class of equipment whose usual range is taken."""

    idle: SoundLevel | None = Field(default=None, description="Level when idle.")
    loaded: SoundLevel | None = Field(default=None, description="Level at full load.")
    equipment: Annotated[str, *choice("class of equipment", *CLASSES)] | None = Field(
        default=None, alias="class", description="Class whose usual range is taken: an assumption, marked."
    )
    spectrum: Shape | None = Field(default=None, description="Octave shape of a level that is one figure.")
    plus_minus_db: Decibels | None = Field(
        default=None, alias="plus_minus", description="How far it may be off."
    )
    measured: Yes = Field(
        default=False, description="The levels were read on site, not declared by the maker."
    )
    background_dba: LevelDba | None = Field(
        default=None, alias="background", description="Level with the source off, taken off a reading."
    )
    declared: Declared | None = Field(
        default=None, description="mean: L_WA,m of ISO 9296:2017; maximum: L_WAd, which holds its K already."
    )
    kv_db: Decibels | None = Field(
        default=None,
        alias="kv",
        description="K of the declaration: how far an L_WA,m may be off; taken off an L_WAd, which holds it.",
    )
    stood: Annotated[str, *choice("place", *SURFACE_Q)] = Field(
        default="floor", description="Where it stood when it was read at a distance."
    )
    read_in: Annotated[Literal["open", "room"], *choice("place", "open", "room")] = Field(
        default="open", description="Read close to it in the open, or in this room with its echoes."
    )
    inlet_steps: InletSteps | None = Field(
        default=None, alias="inlet_rise", description="How much louder up to an inlet temperature."
    )

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Describe the short form beside the mapping."""
        described = handler(core_schema)
        form = handler.resolve_ref_schema(described)
        mapping = {key: form.pop(key) for key in ("type", "properties", "additionalProperties")}
        form["anyOf"] = [{"type": "string", "examples": list(EXAMPLES)}, mapping]
        return described

    @model_validator(mode="before")
    @classmethod
    def _short_form(cls, value: Any) -> Any:
        """Take ``sound: 55 dB`` for a source that is always the same."""
        return {"idle": value, "loaded": value} if isinstance(value, str | list | int | float) else value

    @model_validator(mode="after")
    def _one_way(self) -> SoundModel:
        if self.equipment and (self.idle or self.loaded):
            raise UnitError("both a level and a class?", "keep the level, or else the class")
        if not self.equipment and not (self.idle or self.loaded):
            raise UnitError("no level.", "Write idle and loaded levels, or a class.")
        return self

    @model_validator(mode="after")
    def _declaration(self) -> SoundModel:
        if self.kv_db is not None and self.declared is None:
            raise UnitError(
                "K_v, but of which declaration?",
                "write 'declared: mean' if the level is L_WA,m, 'declared: maximum' if it is an L_WAd, which "
                "holds it already",
            )
        written = [level for level in (self.idle, self.loaded) if level is not None]
        if self.declared and any(level.lwa_db is None for level in written):
            raise UnitError("a declaration is a sound power.", "Write it in dB or B, without a distance.")
        return self

    @model_validator(mode="after")
    def _above_background(self) -> SoundModel:
        for level in (self.idle, self.loaded):
            if level is None or level.lpa_dba is None or self.background_dba is None:
                continue
            if level.lpa_dba - self.background_dba < MIN_BACKGROUND_GAP_DB:
                raise UnitError(
                    f"{level.lpa_dba:g} dBA is less than 3 dB above the background.",
                    "Read it closer, or when the rest is off.",
                )
        return self
