"""What one unit can carry at once that is worth most: a knapsack of several resources, with items kept apart.

Patterns are grown an item at a time, a whole level in one sweep. What cannot reach the worth that is asked
for, even if what is left of the unit were filled with parts of items, is dropped; a level may be cut down to
its most promising patterns, and then the best of what was dropped still bounds the worth.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from planner.placement.column_generation.columns import Column
from planner.placement.params import PARAMS
from planner.placement.pool_instance import SLACK, PoolInstance
from planner.solver import Limits

Prices = np.ndarray[tuple[int], np.dtype[np.float64]]
Flags = np.ndarray[tuple[int, int], np.dtype[np.bool_]]
Ints = np.ndarray[tuple[int, int], np.dtype[np.int64]]
Places = np.ndarray[tuple[int], np.dtype[np.int64]]
Grid = np.ndarray[tuple[int, int], np.dtype[np.float64]]

Stop = Callable[[], bool]
"""Says whether time is up or the person has had enough."""

EPS = 1e-6
TINY = 1e-12


@dataclass(frozen=True)
class PricedPatterns:
    """Patterns of at least the worth asked for, each with its worth; none that is missing has over ``most``.

    ``complete`` says that none of that worth is missing, apart from parts of others.
    """

    patterns: tuple[Column, ...]
    worths: Prices
    most: float
    complete: bool


def clock(limits: Limits, cancel: threading.Event | None) -> Stop:
    """Build the test of whether a search must end."""
    deadline = time.monotonic() + limits.time_s
    return lambda: time.monotonic() > deadline or (cancel is not None and cancel.is_set())


def weights_for(sizes: Grid, prices: Prices) -> Prices:
    """Compute what to weigh each resource by, so that one sum of sizes bounds the worth of a pattern well.

    The bound is the sum of the weights plus what items are worth over their weighted size; it is convex, and
    is made small by steps against its slope that get shorter and shorter.
    """
    dims, params = sizes.shape[1], PARAMS.pricing
    weights: Prices = np.full(dims, 1.0 / dims)
    best, least = weights, math.inf
    for turn in range(params.weight_turns if dims > 1 else 0):
        over = prices - sizes @ weights
        taken = over > 0.0
        value = float(weights.sum() + over[taken].sum())
        if value < least:
            best, least = weights, value
        slope = 1.0 - sizes[taken].sum(axis=0)
        length = params.weight_step * params.weight_shrink**turn
        step = length / math.sqrt(float(slope @ slope) + TINY)
        weights = np.maximum(weights - step * slope, 0.0)
    return np.maximum(best, 1e-4)


@dataclass(frozen=True)
class _Level:
    """Patterns of one length: what is left of the unit, worth, members, worth in reach."""

    left: Grid
    worth: Prices
    members: Ints
    reach: Prices

    def some(self, kept: Places | slice) -> _Level:
        """Select some of the patterns."""
        return _Level(self.left[kept], self.worth[kept], self.members[kept], self.reach[kept])


def _joined(parts: list[_Level]) -> _Level:
    return _Level(
        np.concatenate([part.left for part in parts]),
        np.concatenate([part.worth for part in parts]),
        np.concatenate([part.members for part in parts]),
        np.concatenate([part.reach for part in parts]),
    )


class Knapsack:
    """One unit and items at prices, one a class, in order of price for weighted size."""

    def __init__(self, instance: PoolInstance, prices: Prices, every: bool = False) -> None:
        by_item = prices[instance.class_of]
        worthy = np.arange(instance.count) if every else np.flatnonzero(by_item > 1e-9)
        sizes, price, class_of = instance.sizes[worthy], by_item[worthy], instance.class_of[worthy]
        self.weights = weights_for(sizes, price)
        weighed, density = np.zeros(instance.classes), np.zeros(instance.classes)
        weighed[class_of] = sizes @ self.weights + TINY
        density[class_of] = price / weighed[class_of]
        order = np.lexsort((class_of, -density[class_of]))
        self.items: Places = worthy[order]
        self.sizes, self.price = sizes[order], price[order]
        self.compatible: Flags = instance.compatible[np.ix_(self.items, self.items)]
        place = np.full(instance.count + 1, -1, np.int64)
        place[self.items] = np.arange(len(order))
        self.predecessor: Places = place[instance.predecessor[self.items]]
        self.size_sum = np.concatenate([[0.0], np.cumsum(weighed[class_of[order]])])
        self.price_sum = np.concatenate([[0.0], np.cumsum(self.price)])
        steep = self.price[:, None] / np.maximum(self.sizes, TINY)
        later = np.maximum.accumulate(steep[::-1], axis=0)[::-1]
        self.later: Grid = np.vstack([later, np.zeros((1, later.shape[1]))])

    def find(
        self, wanted: float, stop: Stop, most_states: int, beam: bool, maximal: bool = False
    ) -> PricedPatterns:
        """List patterns worth at least ``wanted``.

        A level with more than ``most_states`` patterns ends the list, or with ``beam`` goes on with those
        that may reach most. ``maximal`` leaves out those to which another item could be added.
        """
        level, most, complete = self._empty(), -math.inf, True
        found: list[tuple[Column, float]] = []
        while len(level.worth):
            if len(level.worth) > most_states and beam:
                chosen = np.argpartition(-level.reach, most_states)
                most, complete = max(most, float(level.reach[chosen[most_states:]].max())), False
                level = level.some(np.sort(chosen[:most_states]))
            crowd = len(level.worth) > most_states
            longer = None if crowd else self._sweep(level, wanted, found, stop, maximal)
            if longer is None:
                most, complete = max(most, float(level.reach.max())), False
                break
            level = longer
        worths = np.array([worth for _, worth in found])
        most = max(most, wanted, float(worths.max(initial=-math.inf)))
        return PricedPatterns(tuple(column for column, _ in found), worths, most, complete)

    def _empty(self) -> _Level:
        dims, none = self.sizes.shape[1], np.zeros(1)
        start = _Level(np.ones((1, dims)), none, np.zeros((1, 0), np.int64), none)
        return _Level(start.left, none, start.members, self._reach(start.left, none, np.zeros(1, np.int64)))

    def _sweep(
        self, level: _Level, wanted: float, found: list[tuple[Column, float]], stop: Stop, maximal: bool
    ) -> _Level | None:
        """Build the patterns one item longer that may get there, and note those of a level that are there.

        None where it was stopped, or where they are more than memory is to be spent on.
        """
        block = max(1, PARAMS.pricing.block // max(1, len(self.items)))
        parts: list[_Level] = []
        longer = 0
        for start in range(0, len(level.worth), block):
            if stop() or longer > PARAMS.pricing.crowd:
                return None
            part = level.some(slice(start, start + block))
            fits = self._fitting(part)
            there = part.worth >= wanted
            if maximal:
                there &= ~fits.any(axis=1)
            for index in np.flatnonzero(there):
                column = tuple(sorted(self.items[part.members[index]].tolist()))
                found.append((column, float(part.worth[index])))
            parts.append(self._children(part, fits, wanted))
            longer += len(parts[-1].worth)
        return _joined(parts)

    def _fitting(self, part: _Level) -> Flags:
        """Compute which items can be added to which pattern."""
        fits: Flags = np.ones((len(part.worth), len(self.items)), bool)
        for dim in range(self.sizes.shape[1]):
            fits &= part.left[:, dim, None] + SLACK >= self.sizes[None, :, dim]
        for place in range(part.members.shape[1]):
            fits &= self.compatible[part.members[:, place]]
        return fits

    def _children(self, part: _Level, fits: Flags, wanted: float) -> _Level:
        """Build the patterns with one more item, one that comes after, from which the worth is in reach."""
        last = part.members[:, -1:] if part.members.shape[1] else np.full((len(part.worth), 1), -1)
        follows = (np.arange(len(self.items)) > last) & ((self.predecessor < 0) | (self.predecessor == last))
        fits = fits & follows
        parents, added = np.nonzero(fits)
        left = part.left[parents] - self.sizes[added]
        worth = part.worth[parents] + self.price[added]
        reach = self._reach(left, worth, added + 1)
        keep = reach >= wanted
        parents, added = parents[keep], added[keep]
        members = np.hstack([part.members[parents], added[:, None]])
        return _Level(left[keep], worth[keep], members, reach[keep])

    def _reach(self, left: Grid, worth: Prices, following: Places) -> Prices:
        """Compute the worth if what is left were filled with parts of the items from a place on."""
        room = np.maximum(left, 0.0)
        full = self.size_sum[following] + room @ self.weights
        filled = np.interp(full, self.size_sum, self.price_sum) - self.price_sum[following]
        reach: Prices = worth + np.minimum(filled, (room * self.later[following]).min(axis=1)) + 1e-12
        return reach
