"""Schedules built block after block: serial and parallel schedule generation schemes (Kolisch 1996).

Whether a block may be put into a window now is decided in one place, `PartialSchedule`: by what comes before
it, hours, co-scheduling conflicts, the money of the month and the limits of the room. Which block is taken
first is a matter of `priority_rules`. The serial scheme takes block after block and leaves out the limits of
the room: a few tenths of a millisecond. The parallel one fills window after window and keeps them.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping

from planner.moves.figures.evaluator import Flags, LimitEvaluator
from planner.moves.grid.slots import CENT
from planner.moves.grid.time_grid import Assignment, TimeGrid
from planner.moves.scheduling.priority_rules import PriorityRule

ROUNDING_H = 1e-9


class PartialSchedule:
    """Blocks put into windows so far, ``at``, and which may be put where next.

    ``ready`` are the blocks all of whose predecessors are put, each with the first window that the lags after
    these leave to it. With ``limits`` windows are filled in their order; ``batch`` is what the one begun
    last holds.
    """

    def __init__(self, grid: TimeGrid, limits: LimitEvaluator | None = None) -> None:
        self.grid, self.limits = grid, limits
        self.at: Assignment = {}
        self.batch: set[str] = set()
        self.ready = {name: grid.ready[name] for name in grid.names if not grid.before[name]}
        self._waits = {name: len(grid.before[name]) for name in grid.names}
        self._left_h = [slot.crew_h + ROUNDING_H for slot in grid.slots]
        self._end_h: dict[str, float] = {}
        self._conflicts: set[tuple[int, int]] = set()
        self._spent: dict[int, float] = {}
        self._refused: dict[str, tuple[int, int]] = {}
        self._flags: Flags | None = None

    def may_put(self, name: str, index: int) -> bool:
        """Decide whether a block may be put into a window now, by every rule."""
        is_ready = self.ready.get(name, self.grid.count) <= index
        return is_ready and self.has_room(name, index) and self.keeps_limits(name)

    def has_room(self, name: str, index: int) -> bool:
        """Decide whether a window has hours and money for a ready block, and nothing that conflicts with it.

        Where it has not, it has not either once more blocks are put.
        """
        hours, slot = self.grid.blocks[name].hours, self.grid.slots[index]
        if hours > self._left_h[index] or hours + self._begin_h(name, index) > slot.hours + ROUNDING_H:
            return False
        rules, near = self.grid.rules[name], self.grid.near[index]
        if rules and any((rule, other) in self._conflicts for rule in rules for other in near):
            return False
        price = self.grid.work.prices.get(name, 0.0)
        return not price or self._spent.get(slot.month, 0.0) + price <= slot.money + CENT / 2.0

    def _begin_h(self, name: str, index: int) -> float:
        """Compute when a block can begin in a window at the earliest, by what it follows there, h."""
        here = (self._end_h[other] for other, _ in self.grid.before[name] if self.at[other] == index)
        return max(here, default=0.0)

    def keeps_limits(self, name: str) -> bool:
        """Decide whether the window begun last keeps the limits of the room with a block, or is no worse.

        What was refused is not computed again while nothing else has been done.
        """
        key = len(self.at) - len(self.batch), len(self.at)
        if self.limits is None or self._refused.get(name) == key:
            return self.limits is None
        if self.excess(name) > 0.0:
            self._refused[name] = key
            return False
        return True

    def excess(self, name: str) -> float:
        """Compute by what share of them a block has the window begun last pass limits of the room."""
        if self.limits is None:
            return 0.0
        if self._flags is None:
            before = [other for other in self.at if other not in self.batch]
            self._flags = self.limits.flags(before, self.batch)
        return self.limits.excess(self._flags, name)

    def begin_window(self) -> None:
        """Count all that is put as done before the window to be filled next."""
        self.batch, self._flags = set(), None

    def first_window(self, name: str) -> int | None:
        """Search the first window with room for a ready block."""
        first, hours = self.ready[name], self.grid.blocks[name].hours
        for index, left_h in enumerate(self._left_h[first:], first):
            if hours <= left_h and self.has_room(name, index):
                return index
        return None

    def put(self, name: str, index: int) -> list[str]:
        """Put a ready block into a window; list the blocks that this makes ready."""
        self._end_h[name] = self.grid.blocks[name].hours + self._begin_h(name, index)
        del self.ready[name]
        self.at[name] = index
        self.batch.add(name)
        self._flags = None
        self._left_h[index] -= self.grid.blocks[name].hours
        self._conflicts.update((rule, index) for rule in self.grid.rules[name])
        month, price = self.grid.slots[index].month, self.grid.work.prices.get(name, 0.0)
        self._spent[month] = self._spent.get(month, 0.0) + price
        found = []
        for other, _ in self.grid.after[name]:
            self._waits[other] -= 1
            if not self._waits[other]:
                self.ready[other] = self.grid.earliest(other, self.at)
                found.append(other)
        return found


def build_serial(grid: TimeGrid, rank: Mapping[str, float]) -> Assignment | None:
    """Build a schedule, least rank first, each block in the first window with room; None where one has none.

    The limits of the room are left out.
    """
    partial = PartialSchedule(grid)
    ready = [(rank[name], name) for name in partial.ready]
    heapq.heapify(ready)
    while ready:
        _, name = heapq.heappop(ready)
        index = partial.first_window(name)
        if index is None:
            return None
        for other in partial.put(name, index):
            heapq.heappush(ready, (rank[other], other))
    return partial.at


def build_parallel(
    grid: TimeGrid, rule: PriorityRule, limits: LimitEvaluator, *, force: bool = False
) -> Assignment:
    """Build a schedule window after window under the limits of the room; what finds no window is left out.

    ``force``: a window that takes nothing gets what passes the limits least.
    """
    partial = PartialSchedule(grid, limits)
    for index in range(grid.count):
        if not partial.ready:
            break
        partial.begin_window()
        _fill(partial, index, rule)
        due = [name for name, first in partial.ready.items() if first <= index]
        if force and due and not partial.batch:
            partial.put(_least_bad(partial, index, rule.rank(due, partial.at, partial.batch)), index)
            _fill(partial, index, rule)
    return partial.at


def _fill(partial: PartialSchedule, index: int, rule: PriorityRule) -> None:
    """Put into a window what it takes; what the limits refuse is tried again after each block."""
    full: set[str] = set()
    name: str | None = ""
    while name is not None:
        due = [name for name, first in partial.ready.items() if first <= index and name not in full]
        ranked = rule.rank(due, partial.at, partial.batch)
        full.update(name for name in ranked if not partial.has_room(name, index))
        name = next((name for name in ranked if name not in full and partial.may_put(name, index)), None)
        if name is not None:
            partial.put(name, index)


def _least_bad(partial: PartialSchedule, index: int, ranked: list[str]) -> str:
    """Choose the block that fits the hours best and passes limits least; else the first."""

    def badness(name: str) -> tuple[bool, float]:
        return not partial.has_room(name, index), partial.excess(name)

    return min(ranked, key=badness)


def is_whole(grid: TimeGrid, at: Mapping[str, int]) -> bool:
    """Say whether a schedule holds every block."""
    return len(at) == len(grid.names)
