"""Time slots for waves: their hours, crew and money, and which of them lie near each other."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.domain import practice
from planner.moves.tasks.work_packages import Work

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


def is_near(slots: Sequence[Slot], one: int, other: int) -> bool:
    """Say whether two slots are the same or less than a day apart."""
    first, last = min(one, other), max(one, other)
    return first == last or slots[last].start_h < slots[first].end_h + practice.DAY_H


def is_affordable(work: Work, slots: Sequence[Slot], at: Mapping[str, int]) -> bool:
    """Say whether blocks in their slots spend no more in any month than there is; ``at`` is by block."""
    spent: dict[int, float] = {}
    for name in work.prices:
        index = at.get(name)
        if index is not None:
            slot = slots[index]
            spent[slot.month] = spent.get(slot.month, 0.0) + work.prices[name]
            if spent[slot.month] > slot.money + CENT:
                return False
    return True
