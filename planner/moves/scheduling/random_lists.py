"""Many quick schedules: blocks by a random mix of urgencies, each into the first window that takes it.

A serial list schedule (Kolisch 1996) is good at any one rule by luck only; a thousand mixed rules are
seldom far from the best number of windows. Limits of the room are kept where that is asked for.
"""

from __future__ import annotations

import heapq
import random
from collections.abc import Callable, Iterator, Mapping, Sequence

from planner.moves.figures.evaluator import LimitEvaluator
from planner.moves.grid.slots import CENT
from planner.moves.grid.time_grid import Assignment, TimeGrid
from planner.moves.tasks.precedence import Lag

LAG_WEIGHT_H = {Lag.SAME: 0.0, Lag.LATER: 3.0, Lag.HELD: 20.0}
"""What a lag counts beside hours of work in the urgency of what is before it."""

NOISE = (0.0, 3.0, 10.0)
"""How much chance is mixed into the urgencies, h."""


def listed_at(grid: TimeGrid, rank: Mapping[str, float]) -> Assignment | None:
    """Give a schedule with the blocks taken by rank, least first; None where the windows do not take one."""
    waits = {name: len(grid.before[name]) for name in grid.names}
    ready = [(rank[name], name) for name in grid.names if not waits[name]]
    heapq.heapify(ready)
    filling = _Filling(grid)
    while ready:
        _, name = heapq.heappop(ready)
        if not filling.put(name):
            return None
        for other, _ in grid.after[name]:
            waits[other] -= 1
            if not waits[other]:
                heapq.heappush(ready, (rank[other], other))
    return filling.at


class _Filling:
    """Windows that are being filled, one block after the other."""

    def __init__(self, grid: TimeGrid) -> None:
        self.grid = grid
        self.at: Assignment = {}
        self._left_h = [slot.crew_h + 1e-9 for slot in grid.slots]
        self._end_h: dict[str, float] = {}
        self._company: set[tuple[int, int]] = set()
        self._spent: dict[int, float] = {}

    def put(self, name: str) -> bool:
        """Put a block into the first window that takes it; False when none does."""
        first, hours = self.grid.earliest(name, self.at), self.grid.blocks[name].hours
        for index, left_h in enumerate(self._left_h[first:], first):
            if left_h >= hours and self.put_in(name, index):
                return True
        return False

    def put_in(self, name: str, index: int) -> bool:
        """Put a block into a window; False where that does not take it."""
        hours = self.grid.blocks[name].hours
        if hours > self._left_h[index] or not self.grid.takes(name, index):
            return False
        end_h = hours + self._begin_h(name, index)
        fits = end_h <= self.grid.slots[index].hours + 1e-9 and self._may_meet(name, index)
        if not fits or not self._pay(name, index):
            return False
        self.at[name] = index
        self._left_h[index] -= hours
        self._end_h[name] = end_h
        self._company |= {(rule, index) for rule in self.grid.rules[name]}
        return True

    def _pay(self, name: str, index: int) -> bool:
        """Take what a block costs out of the month's money; False where there is not enough."""
        slot, price = self.grid.slots[index], self.grid.work.prices.get(name, 0.0)
        spent = self._spent.get(slot.month, 0.0) + price
        if price and spent > slot.money + CENT / 2.0:
            return False
        self._spent[slot.month] = spent
        return True

    def _begin_h(self, name: str, index: int) -> float:
        """Give when a block can begin in a window at the earliest, by what it follows there, h."""
        here = (self._end_h[other] for other, _ in self.grid.before[name] if self.at[other] == index)
        return max(here, default=0.0)

    def _may_meet(self, name: str, index: int) -> bool:
        near = self.grid.near[index]
        return not any((rule, other) in self._company for rule in self.grid.rules[name] for other in near)


def filled_at(grid: TimeGrid, meter: LimitEvaluator, rank: Mapping[str, float]) -> Assignment | None:
    """Give a schedule that keeps the limits: window by window, the blocks taken by rank, least first."""
    waits = {name: len(grid.before[name]) for name in grid.names}
    filling, later = _Filling(grid), [name for name in grid.names if not waits[name]]
    for index in range(grid.count):
        ready = [(rank[name], name) for name in later]
        heapq.heapify(ready)
        done, batch, later = set(filling.at), set[str](), []
        while ready:
            _, name = heapq.heappop(ready)
            is_due = grid.earliest(name, filling.at) <= index
            if not is_due or not meter.holds(done, batch | {name}) or not filling.put_in(name, index):
                later.append(name)
                continue
            batch.add(name)
            for other, _ in grid.after[name]:
                waits[other] -= 1
                if not waits[other]:
                    heapq.heappush(ready, (rank[other], other))
        if not later:
            return filling.at
    return None


def trials(
    grid: TimeGrid,
    quiet: Sequence[str],
    seed: int,
    go_on: Callable[[int], bool],
    meter: LimitEvaluator | None = None,
) -> Iterator[Assignment]:
    """Give schedules while ``go_on`` says so of their number; ``quiet`` is a list that is quiet early.

    With a ``meter`` they keep the limits, and take longer to make.
    """

    def made(rank: Mapping[str, float]) -> Assignment | None:
        return listed_at(grid, rank) if meter is None else filled_at(grid, meter, rank)

    rng = random.Random(seed)
    place = {name: float(number) for number, name in enumerate(quiet)}
    tail_h, load_h = _tails_h(grid), _loads_h(grid)
    at = made(place)
    if at is not None:
        yield at
    number = 0
    while go_on(number):
        number += 1
        urgent, heavy, long, early = rng.random() * 3, rng.random() * 3, rng.random() * 2, rng.random()
        noise = rng.choice(NOISE)
        rank = {
            name: early * place[name]
            - urgent * tail_h[name]
            - heavy * load_h[name] / 10.0
            - long * 5.0 * grid.blocks[name].hours
            + noise * rng.random()
            for name in grid.names
        }
        at = made(rank)
        if at is not None:
            yield at


def _tails_h(grid: TimeGrid) -> dict[str, float]:
    """Give the longest chain from each block on, lags weighed."""
    found: dict[str, float] = {}
    for name in reversed(grid.names):
        later = (found[other] + LAG_WEIGHT_H[lag] for other, lag in grid.after[name])
        found[name] = max(later, default=0.0) + grid.blocks[name].hours
    return found


def _loads_h(grid: TimeGrid) -> dict[str, float]:
    """Give the hours of all that needs each block."""
    found = dict.fromkeys(grid.names, 0.0)
    for name, needed in grid.work.needed.items():
        for other in needed:
            found[other] += grid.blocks[name].hours
    return found
