"""What a solver of programmes gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Solved:
    """Values by name where it found any, its bound, whether it calls them optimal."""

    values: Mapping[str, float] | None
    bound: float | None
    proven: bool
