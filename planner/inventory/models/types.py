"""The written forms of single values as pydantic types: each parses to a figure in the unit it names."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, InstanceOf, WithJsonSchema

from planner.inventory.text import units
from planner.inventory.text.errors import show
from planner.inventory.text.levels import EXAMPLES, Level, parse_level
from planner.inventory.text.nearest import suggestion
from planner.inventory.text.units import Dimension, Size, UnitError, parse_share, parse_size, parse_whole
from planner.physics.bands import Bands
from planner.physics.sound import SHAPES

LONGEST_NAME = 64
LONGEST_TEXT = 2000
PROFILE_LENGTHS = (24, 168)


class Section(BaseModel):
    """A mapping in the file: unknown keys are mistakes, and nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


def parse_name(value: Any) -> str:
    """Read a name: any text of one line, markup signs included, that can be printed and told apart.

    Raises
    ------
    UnitError
        If it is empty, too long, holds control characters or blanks at its ends.
    """
    if isinstance(value, bool | None) or not isinstance(value, str | int | float):
        raise UnitError(f"{show(value)} is no name.", "Write the name as plain text, in quotes if need be.")
    text = unicodedata.normalize("NFC", str(value))
    if not text or text != text.strip() or len(text) > LONGEST_NAME:
        raise UnitError(
            f"'{show(text)}' is no name.", f"Write 1 to {LONGEST_NAME} characters, no blanks around."
        )
    return text


def parse_text(value: Any) -> str:
    """Read a sentence; UnitError when it is empty or no text."""
    if isinstance(value, bool | None) or not isinstance(value, str) or not value.strip():
        raise UnitError(f"{show(value)} is no sentence.", "Write a short reason in words.")
    if len(value) > LONGEST_TEXT:
        raise UnitError("the text is too long.", f"Write at most {LONGEST_TEXT} characters.")
    return " ".join(value.split())


def parse_yes(value: Any) -> bool:
    """Read ``yes`` or ``no``; UnitError when it is neither."""
    if isinstance(value, bool) or value in ("yes", "no"):
        return value in (True, "yes")
    raise UnitError(f"{show(value)}?", "write yes or no")


def parse_stay(value: Any) -> str | bool:
    """Read ``stay_physical``: a reason, or ``no`` against the default of a role; UnitError otherwise."""
    if value is True:
        raise UnitError("yes?", "write the reason, such as 'licence dongle', or no")
    return False if value is False else parse_text(value)


def one_of(what: str, *words: str) -> Callable[[Any], str]:
    """Make a reader that takes only the given words."""

    def parse(value: Any) -> str:
        if isinstance(value, str) and value in words:
            return value
        typed = next(iter(value), "") if isinstance(value, list | dict) else value
        hint = suggestion(typed, words) or f"Write one of {', '.join(words)}."
        raise UnitError(f"{show(value)} is no {what}.", hint)

    return parse


def choice(what: str, *words: str) -> tuple[BeforeValidator, WithJsonSchema]:
    """Make the two marks of a type that takes only the given words."""
    return BeforeValidator(one_of(what, *words)), WithJsonSchema({"type": "string", "enum": list(words)})


def list_of(parse: Callable[[Any], Any]) -> Callable[[Any], tuple[Any, ...]]:
    """Make a reader for one value or a list of hourly values.

    A list must have 24 values (a day) or 168 (a week from Monday 00:00).
    """

    def read(value: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            return (parse(value),)
        if len(value) not in PROFILE_LENGTHS:
            raise UnitError(
                f"a profile of {len(value)} values?", "write one value, 24 for a day or 168 for a week"
            )
        return tuple(parse(item) for item in value)

    return read


def quantity(dimension: Dimension) -> tuple[BeforeValidator, WithJsonSchema, Dimension]:
    """Make the marks of a type: how it is read, how editors show it, and its range."""
    return BeforeValidator(dimension.parse), WithJsonSchema(dimension.schema()), dimension


def profile(
    dimension: Dimension, parse: Callable[[Any], float]
) -> tuple[BeforeValidator, WithJsonSchema, Dimension]:
    """Make the marks of a type for one value or a profile of hours."""
    form = dimension.schema()
    lists = [{"type": "array", "items": form, "minItems": n, "maxItems": n} for n in PROFILE_LENGTHS]
    return BeforeValidator(list_of(parse)), WithJsonSchema({"anyOf": [form, *lists]}), dimension


def text_form(description: str, *examples: str) -> WithJsonSchema:
    """Describe a written text for editors."""
    return WithJsonSchema({"type": "string", "description": description, "examples": list(examples)})


WHOLE_FORM = {"type": ["integer", "string"], "minimum": 0, "examples": [2]}
SHARE_FORM = units.SHARE.schema()

Name = Annotated[str, BeforeValidator(parse_name), WithJsonSchema({"type": ["string", "number"]})]
Text = Annotated[str, BeforeValidator(parse_text), WithJsonSchema({"type": "string", "minLength": 1})]
# An editor that reads YAML 1.2 sees the words `yes` and `no` as text; YAML 1.1 sees them as true and false.
Yes = Annotated[bool, BeforeValidator(parse_yes), WithJsonSchema({"enum": [True, False, "yes", "no"]})]
STAY_FORM = {"type": ["string", "boolean"], "examples": ["licence dongle", False]}
Stay = Annotated[str | bool, BeforeValidator(parse_stay), WithJsonSchema(STAY_FORM)]
Whole = Annotated[int, BeforeValidator(parse_whole), WithJsonSchema(WHOLE_FORM), units.WHOLE]
Share = Annotated[float, BeforeValidator(parse_share), WithJsonSchema(SHARE_FORM), units.SHARE]
Efficiency = Annotated[
    float,
    BeforeValidator(units.parse_efficiency),
    WithJsonSchema(units.EFFICIENCY.schema()),
    units.EFFICIENCY,
]
RoomSize = Annotated[
    InstanceOf[Size], BeforeValidator(parse_size), text_form("length x width x height", units.SIZE_EXAMPLE)
]
SoundLevel = Annotated[
    InstanceOf[Level],
    BeforeValidator(parse_level),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "examples": list(EXAMPLES)},
                {
                    "type": "array",
                    "items": {"type": ["number", "string"]},
                    "minItems": 8,
                    "maxItems": 8,
                },
                {
                    "type": "object",
                    "properties": {key: {"type": "string"} for key in ("on", "off", "at")},
                    "required": ["on", "off", "at"],
                    "additionalProperties": False,
                },
            ],
            "description": "A-weighted sound power in dB or B, 'x dBA at y m', or eight octave bands in dB",
        }
    ),
]
Shape = Annotated[str, *choice("spectrum", *SHAPES)]

Number = Annotated[float, *quantity(units.NUMBER)]
Capacity = Annotated[float, *quantity(units.CAPACITY)]
MemoryGib = Annotated[float, *quantity(units.MEMORY)]
DiskGb = Annotated[float, *quantity(units.DISK)]
OneDiskGb = Annotated[float, *quantity(units.ONE_DISK)]
Iops = Annotated[float, *quantity(units.IOPS)]
NetworkMbps = Annotated[float, *quantity(units.NETWORK)]
PowerW = Annotated[float, *quantity(units.POWER)]
PowerChangeW = Annotated[float, *quantity(units.POWER_CHANGE)]
TemperatureC = Annotated[float, *quantity(units.TEMPERATURE)]
SetpointC = Annotated[float, *quantity(units.SETPOINT)]
FlowM3S = Annotated[float, *quantity(units.FLOW)]
FlowChangeM3S = Annotated[float, *quantity(units.FLOW_CHANGE)]
AreaM2 = Annotated[float, *quantity(units.AREA)]
LengthM = Annotated[float, *quantity(units.LENGTH)]
AltitudeM = Annotated[float, *quantity(units.ALTITUDE)]
ConductanceWK = Annotated[float, *quantity(units.CONDUCTANCE)]
ConductanceChangeWK = Annotated[float, *quantity(units.CONDUCTANCE_CHANGE)]
Decibels = Annotated[float, *quantity(units.DECIBELS)]
LevelDba = Annotated[float, *quantity(units.PRESSURE_LEVEL)]
EnergyWh = Annotated[float, *quantity(units.ENERGY)]
HeatCapacityJK = Annotated[float, *quantity(units.HEAT_CAPACITY)]
Volts = Annotated[float, *quantity(units.VOLTAGE)]
Amperes = Annotated[float, *quantity(units.CURRENT)]
Hours = Annotated[float, *quantity(units.HOURS)]
Minutes = Annotated[float, *quantity(units.MINUTES)]
Money = Annotated[float, *quantity(units.MONEY)]
PriceKwh = Annotated[float, *quantity(units.PRICE_KWH)]
Co2KgKwh = Annotated[float, *quantity(units.CO2)]

Profile = tuple[float, ...]
NumberProfile = Annotated[Profile, *profile(units.NUMBER, units.NUMBER.parse)]
ShareProfile = Annotated[Profile, *profile(units.SHARE, parse_share)]
MemoryProfile = Annotated[Profile, *profile(units.MEMORY, units.MEMORY.parse)]
DiskProfile = Annotated[Profile, *profile(units.DISK, units.DISK.parse)]
IopsProfile = Annotated[Profile, *profile(units.IOPS, units.IOPS.parse)]
NetworkProfile = Annotated[Profile, *profile(units.NETWORK, units.NETWORK.parse)]


def parse_reduction(value: Any) -> Bands:
    """Read a reduction in dB, one for all octaves or eight; UnitError otherwise."""
    if isinstance(value, list):
        if len(value) != 8:
            raise UnitError(
                f"{len(value)} values?", "write one reduction in dB, or eight from 63 Hz to 8 kHz"
            )
        return tuple(units.DECIBELS.parse(f"{v} dB" if isinstance(v, int | float) else v) for v in value)
    return (units.DECIBELS.parse(value),) * 8


ReductionDb = Annotated[
    Bands,
    BeforeValidator(parse_reduction),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "examples": ["6 dB"]},
                {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 8, "maxItems": 8},
            ]
        }
    ),
]
