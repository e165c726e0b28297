"""Time slots for waves: their hours, crew and money, and which of them lie near each other."""

from __future__ import annotations

import math
from dataclasses import dataclass

WEEK_H = 168.0


CENT = 0.01


@dataclass(frozen=True)
class Slot:
    """A time in which a wave may be done, in hours: length, crew, and start and end from the beginning.

    ``money`` is what may be spent in its ``month``, which it shares with others.
    """

    hours: float
    start_h: float
    end_h: float
    crew: int = 1
    month: int = 0
    money: float = math.inf

    @property
    def crew_h(self) -> float:
        """Hours of work that fit."""
        return self.hours * self.crew
