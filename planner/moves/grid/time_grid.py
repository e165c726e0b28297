"""Work and windows as tables: what may be done in which window, looked up once for all who search."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import networkx as nx

from planner.domain import practice
from planner.moves.grid.evaluation import compute_spans_h
from planner.moves.grid.slots import Slot
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.work_packages import Block, Work

Assignment = dict[str, int]
"""The window of each block."""


@dataclass(frozen=True)
class TimeGrid:
    """The blocks of a work and the slots they may be done in; ``ready_h`` as for a builder."""

    work: Work
    slots: Sequence[Slot]
    ready_h: Mapping[str, float] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many windows there are."""
        return len(self.slots)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The blocks, what comes before first."""
        return tuple(nx.lexicographical_topological_sort(self.work.graph))

    @cached_property
    def blocks(self) -> Mapping[str, Block]:
        """Blocks by name."""
        return self.work.block

    @cached_property
    def before(self) -> Mapping[str, tuple[tuple[str, Lag], ...]]:
        """What each block follows at once, with the lag."""
        graph, lags = self.work.graph, self.work.lags
        return {n: tuple((o, lags[o, n]) for o in graph.predecessors(n)) for n in self.names}

    @cached_property
    def after(self) -> Mapping[str, tuple[tuple[str, Lag], ...]]:
        """What follows each block at once, with the lag."""
        graph, lags = self.work.graph, self.work.lags
        return {n: tuple((o, lags[n, o]) for o in graph.successors(n)) for n in self.names}

    @cached_property
    def spans_h(self) -> list[float]:
        """How long the state after each window lasts, h."""
        return compute_spans_h(self.slots)

    @cached_property
    def latest_before(self) -> Mapping[Lag, list[int]]:
        """By lag and window: the last window in which what comes before may be done; -1 for none."""
        return {lag: [self._latest_before(lag, index) for index in range(self.count)] for lag in Lag}

    def _latest_before(self, lag: Lag, index: int) -> int:
        if lag is Lag.SAME:
            return index
        start_h = self.slots[index].start_h
        early = (i for i in range(index - 1, -1, -1) if self.slots[i].end_h + lag.hours <= start_h)
        return next(early, -1)

    def last_before(self, before: str, after: str, lag: Lag) -> list[int]:
        """Compute by a block's window the last one for what it follows; -1 for none. Both may not fit one."""
        hours = self.blocks[before].hours + self.blocks[after].hours
        if lag is not Lag.SAME or hours <= self._shortest_h:
            return self.latest_before[lag]
        return [index - (hours > slot.hours + 1e-9) for index, slot in enumerate(self.slots)]

    @cached_property
    def _shortest_h(self) -> float:
        return min((slot.hours for slot in self.slots), default=0.0)

    @cached_property
    def first_after(self) -> Mapping[Lag, list[int]]:
        """By lag and window: the first window for what follows; the number of windows for none."""
        return {
            lag: [self._first(latest, index) for index in range(self.count)]
            for lag, latest in self.latest_before.items()
        }

    def _first(self, latest: Sequence[int], index: int) -> int:
        return next((i for i in range(index, self.count) if latest[i] >= index), self.count)

    @cached_property
    def ready(self) -> Mapping[str, int]:
        """The first window from which each block may be done by what is done already."""
        return {
            name: next(
                (i for i, slot in enumerate(self.slots) if slot.start_h >= self.ready_h.get(name, -math.inf)),
                self.count,
            )
            for name in self.names
        }

    @cached_property
    def near(self) -> list[tuple[int, ...]]:
        """The windows less than a day from each one, itself included."""
        every, slots = range(self.count), self.slots

        def is_near(one: int, other: int) -> bool:
            first, last = min(one, other), max(one, other)
            return first == last or slots[last].start_h < slots[first].end_h + practice.DAY_H

        return [tuple(other for other in every if is_near(index, other)) for index in every]

    @cached_property
    def rules(self) -> Mapping[str, tuple[int, ...]]:
        """The numbers of the co-scheduling conflicts that each block is in."""
        return {
            name: tuple(i for i, rule in enumerate(self.work.nevers) if name in rule.blocks)
            for name in self.names
        }

    def takes(self, name: str, index: int) -> bool:
        """Say whether a window is long enough for a block."""
        return self.blocks[name].hours <= self.slots[index].hours + 1e-9

    def earliest(self, name: str, at: Mapping[str, int]) -> int:
        """Compute the first window for a block by what it follows; the number of windows for none."""
        found = self.ready[name]
        for other, lag in self.before[name]:
            found = max(found, self.first_after[lag][at[other]] if at[other] < self.count else self.count)
        return found

    def batches(self, at: Mapping[str, int]) -> list[set[str]]:
        """Sort out the blocks of each window."""
        found: list[set[str]] = [set() for _ in range(self.count)]
        for name, index in at.items():
            found[index].add(name)
        return found

    def waves(self, at: Mapping[str, int]) -> Iterator[tuple[set[str], set[str]]]:
        """List each wave with the blocks done before it."""
        done: set[str] = set()
        for batch in self.batches(at):
            if batch:
                yield set(done), batch
                done |= batch


def count_windows(at: Mapping[str, int]) -> int:
    """Count how many windows pass until all is done, unused ones included."""
    return max(at.values(), default=-1) + 1
