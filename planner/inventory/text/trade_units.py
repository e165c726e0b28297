"""Units of the trade beside the schema's own: looks up what one is in the base unit of its dimension.

Sources: NIST SP 811 (2008), appendix B. The inch (25.4 mm, so 304.8 mm to the foot), the International
Table Btu (1055.05585262 J) and the Fahrenheit scale are exact by definition; a ton of refrigeration is
12,000 Btu/h. Memory is made and told in powers of two, whatever letters stand beside it: a GB of memory is
2^30 bytes (JEDEC JESD100B.01, prefixes for semiconductor storage), while a GB of disk is 10^9.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

INCH_M = 0.0254
FOOT_M = 0.3048
BTU_J = 1055.05585262
HOUR_S = 3600.0
BTU_PER_HOUR_W = BTU_J / HOUR_S
TON_OF_COOLING_W = 12_000.0 * BTU_PER_HOUR_W
CUBIC_FOOT_PER_MINUTE_M3_S = FOOT_M**3 / 60.0
GIB_BYTES = 1024.0**3
FAHRENHEIT_PER_CELSIUS = 1.8
FAHRENHEIT_AT_ZERO_C = 32.0


@dataclass(frozen=True)
class TradeUnit:
    """A unit and its other spellings; a figure in it is ``figure * factor + offset`` in the base unit."""

    name: str
    factor: float
    spellings: tuple[str, ...] = ()
    offset: float = 0.0
    advice: str = ""


def _kwh(period: str, hours: float) -> TradeUnit:
    spellings = (f"kWh a {period}", f"kWh per {period}", f"kWh/{period[0]}")
    return TradeUnit(f"kWh/{period}", 1000.0 / hours, spellings)


POWER = (
    TradeUnit("BTU/h", BTU_PER_HOUR_W, ("BTU/hr", "BTUH", "BTU per hour", "BTU")),
    TradeUnit("tons of cooling", TON_OF_COOLING_W, ("ton of cooling", "tons", "ton", "TR", "RT")),
    _kwh("day", 24.0),
    _kwh("week", 168.0),
)
TEMPERATURE = (
    TradeUnit(
        "°F",
        1.0 / FAHRENHEIT_PER_CELSIUS,
        ("F", "degF", "deg F", "Fahrenheit", "degrees F"),
        -FAHRENHEIT_AT_ZERO_C / FAHRENHEIT_PER_CELSIUS,
    ),
)
LENGTH = (
    TradeUnit("ft", FOOT_M, ("foot", "feet", "'")),
    TradeUnit("in", INCH_M, ("inch", "inches", '"')),
)
AREA = (
    TradeUnit("ft2", FOOT_M**2, ("sq ft", "sq. ft", "sqft", "square feet", "square foot")),
    TradeUnit("in2", INCH_M**2, ("sq in", "sq. in", "square inches", "square inch")),
)
FLOW = (TradeUnit("cfm", CUBIC_FOOT_PER_MINUTE_M3_S, ("ft3/min", "cu ft/min", "cubic feet per minute")),)
BINARY = "Memory counts in powers of two: a GB of it is a GiB."
MEMORY = (
    TradeUnit("GB", 1.0, advice=BINARY),
    TradeUnit("TB", 1024.0, advice=BINARY),
    TradeUnit("MB", 1.0 / 1024.0, advice=BINARY),
)


def plain_spelling(unit: str) -> str:
    """Write a unit in small letters, single blanks and plain digits, so that spellings can be compared."""
    plain = unit.replace("²", "2").replace("³", "3").replace("^", "")
    return re.sub(r"\s+", " ", plain).casefold().removesuffix(".")


def find_trade_unit(unit: str, units: tuple[TradeUnit, ...]) -> TradeUnit | None:
    """Look up a written unit, in whatever letters, among those of a dimension."""
    wanted = plain_spelling(unit)
    names: Mapping[str, TradeUnit] = {
        plain_spelling(name): each for each in units for name in (each.name, *each.spellings)
    }
    return names.get(wanted)
