"""Makes a schedule quieter without another window: blocks change places while every rule and limit holds."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from planner.moves.figures.evaluator import Figure, LimitEvaluator
from planner.moves.figures.room_figures import Figures
from planner.moves.grid.evaluation import compute_spans_h, find_strains
from planner.moves.grid.slots import Slot, is_affordable, is_near
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.work_packages import Work

MOST_ROUNDS = 20
MOST_LEAVING = 2
MOST_JUDGED = 120
"""So many changes are held against the limits at most: a bound that is no clock."""

LEAST_GAIN = 1e-6
Change = dict[str, int]
"""Blocks with the window that each of them goes to."""


@dataclass
class Polish:
    """A schedule under change: ``at`` is the window of each block, ``batches`` the blocks of each window."""

    work: Work
    slots: Sequence[Slot]
    batches: list[set[str]]
    ready_h: Mapping[str, float] = field(default_factory=dict)
    until: float = math.inf
    meter: LimitEvaluator | None = None

    def __post_init__(self) -> None:
        """Look up what does not change."""
        self.at = {name: index for index, batch in enumerate(self.batches) for name in batch}
        self.reads = self.meter or LimitEvaluator(self.work)
        self.figure = Figure(self.work, Figures(self.work.change).loudness())
        self.spans = compute_spans_h(self.slots)
        self.judged = 0

    def run(self) -> list[set[str]]:
        """Take every change that makes it quieter until none does, or the time is over."""
        for _ in range(MOST_ROUNDS):
            quieter = [block.name for block in self.work.blocks if self._one(block.name)]
            if not quieter:
                break
        return self.batches

    def _one(self, name: str) -> bool:
        for change in self._changes(name):
            if time.monotonic() > self.until or self.judged >= MOST_JUDGED:
                return False
            if self._holds(change) and self._taken(change):
                return True
        return False

    def _changes(self, name: str) -> Iterator[Change]:
        """Give ways of doing a block earlier: into a window as it is, or against up to two blocks of it."""
        here = self.at[name]
        for there in range(here):
            moved = {**self.at, name: there}
            if not self.batches[there] or not self._in_order(name, moved):
                continue
            others = [o for o in sorted(self.batches[there]) if self._in_order(o, {**moved, o: here})]
            for count in range(MOST_LEAVING + 1):
                for leaving in combinations(others, count):
                    if self._have_hours(name, leaving, there, here):
                        yield {name: there, **dict.fromkeys(leaving, here)}

    def _have_hours(self, name: str, leaving: Sequence[str], there: int, here: int) -> bool:
        block, out_h = self.work.block, sum(self.work.block[other].hours for other in leaving)
        for index, more_h in ((there, block[name].hours - out_h), (here, out_h - block[name].hours)):
            taken_h = sum(block[other].hours for other in self.batches[index])
            if taken_h + more_h > self.slots[index].crew_h + 1e-9:
                return False
        longest_h = max((block[other].hours for other in leaving), default=0.0)
        return (
            block[name].hours <= self.slots[there].hours + 1e-9 and longest_h <= self.slots[here].hours + 1e-9
        )

    def _holds(self, change: Change) -> bool:
        """Say whether order, days and company hold after a change."""
        moved = {**self.at, **change}
        if not is_affordable(self.work, self.slots, moved):
            return False
        return all(self._in_order(name, moved) and self._alone(name, moved) for name in change)

    def _in_order(self, name: str, at: Mapping[str, int]) -> bool:
        if self.slots[at[name]].start_h < self.ready_h.get(name, -math.inf):
            return False
        pairs = [(before, name) for before in self.work.graph.predecessors(name)]
        pairs += [(name, after) for after in self.work.graph.successors(name)]
        return all(self._is_late_enough(before, after, at) for before, after in pairs)

    def _is_late_enough(self, before: str, after: str, at: Mapping[str, int]) -> bool:
        lag, first, second = self.work.lags[before, after], at[before], at[after]
        if lag is Lag.SAME:
            return first <= second
        return first < second and self.slots[second].start_h >= self.slots[first].end_h + lag.hours

    def _alone(self, name: str, at: Mapping[str, int]) -> bool:
        return not any(
            name != other and is_near(self.slots, at[name], at[other])
            for rule in self.work.nevers
            if name in rule.blocks
            for other in rule.blocks
        )

    def _taken(self, change: Change) -> bool:
        """Make a change for good when it is quieter and strains nothing."""
        first = min(*change.values(), *(self.at[name] for name in change))
        last = max(*change.values(), *(self.at[name] for name in change))
        batches = [set(batch) for batch in self.batches]
        for name, index in change.items():
            batches[self.at[name]].discard(name)
            batches[index].add(name)
        if self._loud(batches, first, last) > self._loud(self.batches, first, last) - LEAST_GAIN:
            return False
        self.judged += 1
        if self._strains(batches, first, last):
            return False
        self.batches = batches
        self.at.update(change)
        return True

    def _loud(self, batches: Sequence[set[str]], first: int, last: int) -> float:
        done = set[str]().union(*batches[:first])
        found = 0.0
        for index in range(first, last):
            done |= batches[index]
            found += self.spans[index] * self.figure.after(done)
        return found

    def _strains(self, batches: Sequence[set[str]], first: int, last: int) -> bool:
        done = set[str]().union(*batches[:first])
        for batch in batches[first : last + 1]:
            if batch and not self.reads.holds(done, batch):
                return True
            done |= batch
        return False


def polished(
    work: Work,
    slots: Sequence[Slot],
    batches: Sequence[set[str]],
    ready_h: Mapping[str, float] | None = None,
    until: float = math.inf,
    meter: LimitEvaluator | None = None,
) -> list[set[str]]:
    """Give a schedule that is as quiet over time or quieter, in the same windows or fewer."""
    found = Polish(work, slots, [set(batch) for batch in batches], ready_h or {}, until, meter).run()
    return [set(batch) for batch in batches] if find_strains(work, found) else found
