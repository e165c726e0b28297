"""How figures are written: whole numbers where more would promise too much, always with a unit."""

from __future__ import annotations

import math

MARK = "*"
"""Stands behind a figure that rests on something nobody measured or declared."""


def number(value: float | None, digits: int = 0) -> str:
    """Write a number with thousands marked; 'none' where there is no finite value."""
    if value is None or not math.isfinite(value):
        return "none"
    rounded = round(value, digits)
    return f"{0.0 if rounded == 0 else rounded:,.{digits}f}"


def short(value: float | None) -> str:
    """Write a number with one digit behind the point only where there is something to show."""
    return number(value, 0 if value is None or float(value).is_integer() else 1)


def marked(text: str, assumed: bool) -> str:
    """Put the mark behind a figure that is assumed."""
    return text + MARK if assumed else text


def aligned(text: str, assumed: bool) -> str:
    """Put the mark behind a figure in a column, or a space, so that the digits stand below each other."""
    return text + (MARK if assumed else " ")


def signed(value: float, digits: int = 0) -> str:
    """Write a number with its sign."""
    rounded = round(value, digits)
    return f"{rounded:+,.{digits}f}" if rounded else "0"


def level(value: float | None) -> str:
    """Write a sound level as a whole number of dBA: no finer figure can be foretold."""
    return "silent" if value is None or not math.isfinite(value) else f"{number(value)} dBA"


def hours(value: float) -> str:
    """Write hours of work."""
    return f"{short(value)} h"


def finite(value: float | None, digits: int | None = None) -> float | None:
    """Make a value fit for JSON: rounded where asked, None where it is not finite."""
    if value is None or not math.isfinite(value):
        return None
    rounded = value if digits is None else round(value, digits)
    return 0.0 if rounded == 0 else rounded


def plural(count: int, one: str, many: str = "") -> str:
    """Write a count with its noun."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def listed(names: tuple[str, ...] | list[str]) -> str:
    """Write names as a list in words."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


FIGURE_NAMES = {
    "ua_w_k": "heat loss",
    "leak_m3_s": "leak",
    "setpoint": "set point",
    "vcpu": "virtual cores",
    "iops": "disk operations",
}


def figure_name(name: str) -> str:
    """Look up the word for a figure that is known by its field."""
    return FIGURE_NAMES.get(name, name)
