"""Mend an overfull packing: move and swap items out of overfull units until every unit holds.

A tabu search on the total overload. Two items that must not meet count as an overload of their own.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.placement.params import PARAMS
from planner.placement.pool_instance import SLACK, PoolInstance

Row = np.ndarray[tuple[int], np.dtype[np.float64]]


class _Search:
    """Where every item is, what every unit carries, and how much is over."""

    def __init__(self, instance: PoolInstance, place: Sequence[int], units: int, seed: int) -> None:
        self.sizes, self.units = instance.sizes, units
        self.rng = np.random.default_rng(seed)
        self.place = np.array(place, np.int64)
        self.load = np.zeros((units, self.sizes.shape[1]))
        np.add.at(self.load, self.place, self.sizes)
        pairs = sorted({(min(a, b), max(a, b)) for a, others in instance.conflicts.items() for b in others})
        self.one = np.array([a for a, _ in pairs], np.int64)
        self.two = np.array([b for _, b in pairs], np.int64)
        self.conflicts = {
            item: np.array(sorted(others), np.int64) for item, others in instance.conflicts.items()
        }
        self.tabu = np.zeros((instance.count, units), np.int64)

    def over(self) -> Row:
        """Compute each unit's overload, summed over what it runs out of."""
        total: Row = np.maximum(self.load - 1.0 - SLACK, 0.0).sum(axis=1)
        return total

    def total(self) -> float:
        """Compute all overload, with what pairs that must not meet weigh."""
        return float(self.over().sum() + PARAMS.packing.conflict / 2.0 * self.met().sum())

    def meetings(self, item: int) -> Row:
        """Count, by unit, how many items an item must not meet are there."""
        conflicts = self.conflicts.get(item)
        if conflicts is None:
            return np.zeros(self.units)
        found: Row = np.bincount(self.place[conflicts], minlength=self.units).astype(float)
        return found

    def met(self, unit: int | None = None) -> Row:
        """Count, by item, how many items it must not meet are in its own unit, or in the one named."""
        count, one, two = len(self.sizes), self.one, self.two
        if len(one) == 0:
            return np.zeros(count)
        if unit is None:
            beside_one = beside_two = self.place[one] == self.place[two]
        else:
            beside_one, beside_two = self.place[two] == unit, self.place[one] == unit
        first = np.bincount(one[beside_one], minlength=count)
        found: Row = (first + np.bincount(two[beside_two], minlength=count)).astype(float)
        return found

    def step(self, turn: int) -> bool:
        """Make the best move or swap of an item of an overfull unit; False when all holds."""
        over = self.over()
        clash = np.zeros(self.units, bool)
        clash[self.place[self.met() > 0]] = True
        full = np.flatnonzero((over > 0.0) | clash)
        if len(full) == 0:
            return False
        unit = int(self.rng.choice(full))
        items = np.flatnonzero(self.place == unit)
        most = PARAMS.packing.tabu_items
        if len(items) > most:
            items = self.rng.choice(items, most, replace=False)
        best = min((self._best_of(int(item), over, turn) for item in items), key=lambda found: found[0])
        self._apply(best[1], best[2], turn)
        return True

    def _best_of(self, item: int, over: Row, turn: int) -> tuple[float, int, tuple[int, int]]:
        """Compute the best change for an item: (gain, item, (unit to move to, item to swap with or -1))."""
        home, size = int(self.place[item]), self.sizes[item]
        meets = self.meetings(item)
        lighter = np.maximum(self.load[home] - size - 1.0 - SLACK, 0.0).sum() - over[home]
        there = np.maximum(self.load + size - 1.0 - SLACK, 0.0).sum(axis=1) - over
        move = lighter + there + PARAMS.packing.conflict * (meets - meets[home])
        move[(self.tabu[item] > turn) | (np.arange(self.units) == home)] = np.inf
        to = int(np.argmin(move))
        swap = self._swaps(item, home, over, meets)
        swap[(self.tabu[np.arange(len(swap)), home] > turn) | (self.tabu[item, self.place] > turn)] = np.inf
        other = int(np.argmin(swap))
        if swap[other] < move[to]:
            return float(swap[other]), item, (int(self.place[other]), other)
        return float(move[to]), item, (to, -1)

    def _swaps(self, item: int, home: int, over: Row, meets: Row) -> Row:
        """Compute the change of overload for swapping an item with every other."""
        delta = self.sizes - self.sizes[item]
        here = np.maximum(self.load[home] + delta - 1.0 - SLACK, 0.0).sum(axis=1) - over[home]
        there = np.maximum(self.load[self.place] - delta - 1.0 - SLACK, 0.0).sum(axis=1) - over[self.place]
        change: Row = here + there + PARAMS.packing.conflict * (meets[self.place] - meets[home])
        if len(self.one):
            change += PARAMS.packing.conflict * (self.met(home) - self.met())
        change[self.place == home] = np.inf
        return change

    def _apply(self, item: int, target: tuple[int, int], turn: int) -> None:
        to, other = target
        home = int(self.place[item])
        self._shift(item, to)
        self.tabu[item, home] = self._until(turn)
        if other >= 0:
            self._shift(other, home)
            self.tabu[other, to] = self._until(turn)

    def _until(self, turn: int) -> int:
        """Draw the turn up to which an item does not go back."""
        tenure = PARAMS.packing.tabu_tenure
        return turn + tenure + int(self.rng.integers(tenure))

    def _shift(self, item: int, to: int) -> None:
        self.load[self.place[item]] -= self.sizes[item]
        self.load[to] += self.sizes[item]
        self.place[item] = to


def repair_overload(
    instance: PoolInstance,
    place: Sequence[int],
    units: int,
    seed: int,
) -> tuple[tuple[int, ...], ...] | None:
    """Search for units in which nothing is over; None where it gets no better or takes too long."""
    search = _Search(instance, place, units, seed)
    least, since = np.inf, 0
    for turn in range(PARAMS.packing.tabu_turns):
        over = search.total()
        least, since = (over, turn) if over < least - SLACK else (least, since)
        if turn - since > PARAMS.packing.tabu_patience:
            break
        if not search.step(turn):
            units_found = [np.flatnonzero(search.place == unit).tolist() for unit in range(units)]
            return tuple(tuple(unit) for unit in units_found if unit)
    return None
