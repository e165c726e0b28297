"""Which bound proved what no schedule can beat, by the field's name of it."""

from __future__ import annotations

from enum import StrEnum


class Proof(StrEnum):
    """A bound by its method."""

    NONE = ""
    PACKING_DUALS = "packing dual prices and time windows"
    PER_WINDOW = "per-window bounds"
    TIME_INDEXED = "time-indexed LP"
    EVEN_SPREAD = "even spread over time windows"
    EXACT = "exact programme"


Bound = tuple[float, Proof]
"""A value that no schedule can beat, and how that is known."""
