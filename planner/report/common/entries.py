"""Entries that several pages have: what is assumed, and what to be careful of."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class CautionEntry:
    """A danger that comes with the plan, and what in the plan brings it."""

    hazard: str
    text: str
    because: tuple[str, ...]


@dataclass(frozen=True)
class AssumedEntry:
    """The figures of one thing that nobody measured or declared."""

    of: str
    figures: tuple[str, ...]
