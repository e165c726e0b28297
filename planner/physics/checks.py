"""Argument checks shared by the physics functions: what is refused is said in a sentence."""

import math
from collections.abc import Mapping
from typing import TypeVar

Value = TypeVar("Value")


def require_positive(name: str, value: float) -> float:
    """Return `value` if it is finite and above zero.

    Raises
    ------
    ValueError
        If it is zero, negative, infinite or not a number.
    """
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be a number above zero, not {value}")
    return value


def require_not_negative(name: str, value: float) -> float:
    """Return `value` if it is finite and zero or more.

    Raises
    ------
    ValueError
        If it is negative, infinite or not a number.
    """
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{name} must be zero or more, not {value}")
    return value


def require_fraction(name: str, value: float) -> float:
    """Return `value` if it lies between 0 and 1, both allowed.

    Raises
    ------
    ValueError
        If it lies outside.
    """
    if not 0.0 <= value <= 1.0:
        raise ValueError(f"{name} must lie between 0 and 1, not {value}")
    return value


def require_finite(name: str, value: float) -> float:
    """Return `value` if it is an ordinary number.

    Raises
    ------
    ValueError
        If it is infinite or not a number.
    """
    if not math.isfinite(value):
        raise ValueError(f"{name} must be an ordinary number, not {value}")
    return value


def require_known(what: str, name: str, table: Mapping[str, Value]) -> Value:
    """Return the entry of `table` called `name`.

    Raises
    ------
    ValueError
        If there is none; the sentence lists the names there are.
    """
    if name not in table:
        raise ValueError(f"unknown {what} '{name}': choose one of {', '.join(table)}")
    return table[name]
