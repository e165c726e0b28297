"""Quantities as people write them (``32 GiB``, ``140 W``) to plain figures in one unit, and back."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from planner.inventory.text import trade_units
from planner.inventory.text.conversions import note_conversion
from planner.inventory.text.errors import show
from planner.inventory.text.trade_units import GIB_BYTES, TradeUnit, find_trade_unit, plain_spelling

QUANTITY = re.compile(r"\s*([-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*", re.DOTALL)
DECIMAL_COMMA = re.compile(r"[-+]?\d+,\d+.*", re.DOTALL)
THOUSANDS_COMMA = re.compile(r"[-+]?[1-9]\d{0,2}(,\d{3})+(?!\d).*", re.DOTALL)
GIB_GB = GIB_BYTES / 1e9
LEAST_SHOWN_WHOLE = 1e4
LEAST_ABOVE, MOST_WRITTEN = 1e-6, 1e12


class UnitError(ValueError):
    """A written figure that cannot be taken; ``message`` names it and ``repair`` says what to write."""

    def __init__(self, message: str, repair: str) -> None:
        super().__init__(f"{message} {repair}")
        self.message = message
        self.repair = repair


@dataclass(frozen=True)
class Dimension:
    """One sort of figure: its base unit, how much of it each unit is, and the range that makes sense.

    ``trade``: further units that are read, converted, and told.
    """

    name: str
    unit: str
    factors: Mapping[str, float] = field(hash=False)
    example: str
    low: float = 0.0
    high: float = math.inf
    above_low: bool = False
    bare: bool = False
    trade: tuple[TradeUnit, ...] = ()

    def parse(self, value: Any) -> float:
        """Compute a written figure in the base unit.

        Raises
        ------
        UnitError
            If it is no figure, has no unit or an unknown one, or lies outside the range.
        """
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise UnitError(f"{show(value)} is no {self.name}.", f"Write a figure such as '{self.example}'.")
        number, unit = self._split(value)
        if not math.isfinite(number):
            raise UnitError(f"{show(value)} is no finite figure.", f"Write one such as '{self.example}'.")
        if not unit and not self.bare:
            raise UnitError(f"{show(value)}?", self._missing_unit(number))
        if unit in self.factors or not unit:
            return self._in_range(value, number * (self.factors[unit] if unit else 1.0))
        foreign = find_trade_unit(unit, self.trade)
        if foreign is None:
            raise UnitError(f"{show(value)}?", self._unknown_unit(number, unit))
        figure = self._in_range(value, number * foreign.factor + foreign.offset)
        note_conversion(value, self.show(figure), foreign.advice)
        return figure

    def is_converted(self, value: str) -> bool:
        """Say whether a written figure that was read is in a unit of the trade."""
        match = QUANTITY.fullmatch(value)
        return match is not None and find_trade_unit(match[2], self.trade) is not None

    def show(self, figure: float) -> str:
        """Write a figure for people, rounded, in the unit of the example."""
        _, unit = self._split(self.example)
        return f"{rounded(figure / self.factors[unit])} {unit}"

    def write(self, figure: float) -> str:
        """Write a figure in the base unit so that `parse` gives it back."""
        return f"{figure!r} {self.unit}".strip()

    def ends(self) -> tuple[str, str]:
        """Write about the least and the most that can stand in a file."""
        low = self.low + LEAST_ABOVE if self.above_low else self.low
        return self.write(low), self.write(self.high if math.isfinite(self.high) else MOST_WRITTEN)

    def schema(self) -> dict[str, Any]:
        """Describe the written form for editors."""
        sorts = ["string", "number"] if self.bare else ["string"]
        units = ", ".join([*self.factors, *(each.name for each in self.trade)])
        text = f"{self.name} in {units}" if units else self.name
        return {"type": sorts, "examples": [self.example], "description": f"{text}, such as '{self.example}'"}

    def _split(self, value: float | str) -> tuple[float, str]:
        if not isinstance(value, str):
            return float(value), ""
        if THOUSANDS_COMMA.fullmatch(value.strip()):
            raise UnitError(f"{show(value)}?", "write no comma: thousands run on, and decimals have a point")
        if DECIMAL_COMMA.fullmatch(value.strip()):
            point = show(value.replace(",", ".", 1))
            raise UnitError(f"{show(value)}?", f"write a decimal point, such as '{point}'")
        match = QUANTITY.fullmatch(value)
        if match is None:
            raise UnitError(f"{show(value)} is no {self.name}.", f"Write a figure such as '{self.example}'.")
        return float(match[1]), match[2]

    def _missing_unit(self, number: float) -> str:
        if len(self.factors) == 1 and not self.trade:
            return f"write its unit, '{number:.12g} {self.unit}'"
        return self._example_apart(number)

    def _unknown_unit(self, number: float, unit: str) -> str:
        """Say what to write; the same number only with the same unit in other letters."""
        same = [each for each in self.factors if plain_spelling(each) == plain_spelling(unit)]
        if len(same) == 1:
            return f"write the unit as in '{number:.12g} {same[0]}'"
        return self._example_apart(number)

    def _example_apart(self, number: float) -> str:
        """Write an example that cannot be taken for a repair: its number is another one."""
        usual, unit = self._split(self.example)
        other = usual if usual != number else min(2.0 * usual, self.high)
        return f"write a figure of {self.name} such as '{f'{other:g} {unit}'.rstrip()}'"

    def _in_range(self, value: object, figure: float) -> float:
        if figure < self.low or (self.above_low and figure == self.low):
            words = "more than" if self.above_low else "at least"
            raise UnitError(f"{show(value)} is too small.", f"It must be {words} {self._limit(self.low)}.")
        if figure > self.high:
            raise UnitError(f"{show(value)} is too large.", f"It may be at most {self._limit(self.high)}.")
        return figure

    def _limit(self, figure: float) -> str:
        return f"{figure:g} {self.unit}".strip()


def rounded(figure: float) -> str:
    """Write a figure with four digits, large ones whole and without a power of ten."""
    return f"{figure:.4g}" if abs(figure) < LEAST_SHOWN_WHOLE else f"{figure:.0f}"


NUMBER = Dimension("number", "", {}, "2.5", bare=True, high=1e9)
CAPACITY = Dimension("number of cores or speed of one", "", {}, "2.5", bare=True, low=0.01, high=1e9)
"""What a machine has to give: one that gives nothing is none, and its use would be a share of nothing."""

WHOLE = Dimension("whole number", "", {"U": 1.0}, "2", bare=True, high=10_000)
MEMORY = Dimension(
    "memory",
    "GiB",
    {"GiB": 1.0, "MiB": 1 / 1024, "TiB": 1024.0},
    "16 GiB",
    high=1e6,
    trade=trade_units.MEMORY,
)
DISK = Dimension(
    "disk space",
    "GB",
    {"GB": 1.0, "TB": 1000.0, "MB": 0.001, "GiB": GIB_GB, "TiB": 1024 * GIB_GB},
    "500 GB",
    high=1e8,
)
ONE_DISK = replace(DISK, above_low=True)
IOPS = Dimension("disk operations a second", "", {"IOPS": 1.0, "/s": 1.0}, "120", bare=True, high=1e8)
NETWORK = Dimension(
    "network rate", "Mbit/s", {"Mbit/s": 1.0, "Gbit/s": 1000.0, "kbit/s": 0.001, "MB/s": 8.0}, "100 Mbit/s"
)
POWER = Dimension("power", "W", {"W": 1.0, "kW": 1000.0}, "250 W", high=1e6, trade=trade_units.POWER)
POWER_CHANGE = replace(POWER, name="change of power", example="-12 W", low=-1e6)
SHARE = Dimension("share", "%", {"%": 1.0}, "25 %", high=100.0)
EFFICIENCY = Dimension("efficiency", "%", {"%": 1.0}, "93 %", low=10.0, high=100.0)
TEMPERATURE = Dimension(
    "temperature",
    "°C",
    {"°C": 1.0, "C": 1.0, "degC": 1.0},
    "26 °C",
    low=-60.0,
    high=100.0,
    trade=trade_units.TEMPERATURE,
)
SETPOINT = replace(TEMPERATURE, name="set point", example="23 °C", low=10.0, high=40.0)
FLOW = Dimension(
    "airflow",
    "m3/s",
    {
        "m3/h": 1 / 3600,
        "m³/h": 1 / 3600,
        "l/s": 0.001,
        "m3/s": 1.0,
        "m³/s": 1.0,
    },
    "420 m3/h",
    high=1000.0,
    trade=trade_units.FLOW,
)
FLOW_CHANGE = replace(FLOW, name="change of airflow", example="-40 m3/h", low=-100.0, high=100.0)
AREA = Dimension(
    "area",
    "m2",
    {"m2": 1.0, "m²": 1.0, "cm2": 1e-4, "cm²": 1e-4, "mm2": 1e-6, "mm²": 1e-6},
    "9 m2",
    low=1e-6,
    high=1e5,
    trade=trade_units.AREA,
)
LENGTH = Dimension(
    "length",
    "m",
    {"m": 1.0, "cm": 0.01, "mm": 0.001},
    "2.5 m",
    low=0.001,
    high=1000.0,
    trade=trade_units.LENGTH,
)
ALTITUDE = Dimension(
    "altitude", "m", {"m": 1.0, "km": 1000.0}, "120 m", low=-500.0, high=5000.0, trade=trade_units.LENGTH
)
CONDUCTANCE = Dimension("heat conductance", "W/K", {"W/K": 1.0}, "90 W/K", high=1e5)
CONDUCTANCE_CHANGE = Dimension("change of heat conductance", "W/K", CONDUCTANCE.factors, "-5 W/K", -1e5, 1e5)
DECIBELS = Dimension("level difference", "dB", {"dB": 1.0}, "6 dB", high=100.0)
PRESSURE_LEVEL = Dimension("sound level", "dBA", {"dBA": 1.0, "dB(A)": 1.0}, "42 dBA", low=-20.0, high=140.0)
POWER_LEVEL = Dimension("sound power", "dB", {"dB": 1.0, "B": 10.0}, "55 dB", low=-20.0, high=140.0)
ENERGY = Dimension("energy", "Wh", {"Wh": 1.0, "kWh": 1000.0}, "900 Wh", high=1e7)
HEAT_CAPACITY = Dimension(
    "heat capacity", "J/K", {"J/K": 1.0, "kJ/K": 1000.0}, "500 kJ/K", above_low=True, high=1e9
)
VOLTAGE = Dimension("voltage", "V", {"V": 1.0}, "230 V", above_low=True, high=1000.0)
CURRENT = Dimension("current", "A", {"A": 1.0}, "16 A", above_low=True, high=1000.0)
HOURS = Dimension("hours", "h", {"h": 1.0, "min": 1 / 60}, "4 h", bare=True, high=8784.0)
MINUTES = Dimension("time", "min", {"min": 1.0, "h": 60.0, "s": 1 / 60}, "30 min", high=1e5)
MONEY = Dimension("amount of money", "", {}, "180", bare=True, high=1e9)
PRICE_KWH = Dimension("price of energy", "/kWh", {"/kWh": 1.0, "per kWh": 1.0}, "0.28", bare=True, high=100.0)
CO2 = Dimension("carbon factor", "kg/kWh", {"kg/kWh": 1.0, "g/kWh": 0.001}, "0.35 kg/kWh", high=5.0)


def parse_whole(value: Any) -> int:
    """Compute a whole number of zero or more.

    Raises
    ------
    UnitError
        If it is no whole number.
    """
    figure = WHOLE.parse(value)
    if figure != int(figure):
        raise UnitError(f"{show(value)} is no whole number.", "Write one such as '2'.")
    return int(figure)


def parse_share(value: Any) -> float:
    """Compute a percentage as a fraction between 0 and 1; UnitError as `Dimension.parse`."""
    return SHARE.parse(value) / 100.0


def parse_efficiency(value: Any) -> float:
    """Read an efficiency as a fraction; UnitError where so little comes through that it is none."""
    return EFFICIENCY.parse(value) / 100.0


@dataclass(frozen=True)
class Size:
    """Length, width and height of a room in metres."""

    length_m: float
    width_m: float
    height_m: float

    @property
    def floor_m2(self) -> float:
        """Area of the floor, and of the ceiling."""
        return self.length_m * self.width_m

    @property
    def walls_m2(self) -> float:
        """Area of the four walls."""
        return 2.0 * (self.length_m + self.width_m) * self.height_m

    @property
    def surface_m2(self) -> float:
        """Area of all six sides."""
        return 2.0 * self.floor_m2 + self.walls_m2

    @property
    def volume_m3(self) -> float:
        """Volume."""
        return self.floor_m2 * self.height_m


SIZE_EXAMPLE = "4.2 x 3.1 x 2.6 m"


def parse_size(value: Any) -> Size:
    """Read a room's size, written like ``4.2 x 3.1 x 2.6 m``.

    Raises
    ------
    UnitError
        If there are not three lengths above zero, or the unit is missing.
    """
    parts = re.split(r"\s*[x×]\s*", value.strip()) if isinstance(value, str) else []
    if len(parts) != 3:
        raise UnitError(
            f"{show(value)} is no size.", f"Write length x width x height, such as '{SIZE_EXAMPLE}'."
        )
    unit = QUANTITY.fullmatch(parts[2])
    shared = f" {unit[2]}" if unit and unit[2] else ""
    written = [_with_unit(part, shared) for part in parts]
    size = Size(*map(LENGTH.parse, written))
    if any(map(LENGTH.is_converted, written)):
        sides = (size.length_m, size.width_m, size.height_m)
        note_conversion(value, f"{' x '.join(map(rounded, sides))} m")
    return size


def _with_unit(part: str, shared: str) -> str:
    match = QUANTITY.fullmatch(part)
    return part + shared if match and not match[2] else part


def write_size(size: Size) -> str:
    """Write a size so that `parse_size` gives it back."""
    return f"{size.length_m!r} x {size.width_m!r} x {size.height_m!r} m"
