"""What was read on site: today's level at a listener."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import Field, model_validator

from planner.inventory.models.types import LevelDba, Name, Section
from planner.inventory.text.units import UnitError
from planner.physics.sound import MIN_BACKGROUND_GAP_DB


class ReadingModel(Section):
    """Today's level at a listener, with everything in the room running as usual."""

    level_dba: LevelDba = Field(alias="level", description="What the meter shows there today.")
    background_dba: LevelDba | None = Field(
        default=None, alias="background", description="What it shows with the room's machines off."
    )

    @model_validator(mode="after")
    def _above_background(self) -> ReadingModel:
        gap_db = None if self.background_dba is None else self.level_dba - self.background_dba
        if gap_db is not None and gap_db < MIN_BACKGROUND_GAP_DB:
            raise UnitError(
                f"{self.level_dba:g} dBA is less than 3 dB above the background.",
                "The room cannot be told apart from it there: leave the reading out, or read at night.",
            )
        return self


Readings = Mapping[Name, ReadingModel]
