"""How many alike units a set of items needs, by patterns: what one unit can carry at once.

Column generation gives the relaxation's value and prices for the items; the prices are a valid inequality
for every subset of the items. Where relaxation and best packing differ, all patterns whose reduced cost
leaves them a chance are listed, and the whole-number programme over them settles the question.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.milp import Limits, Program, run
from planner.milp.covering import Column, Covering, cover
from planner.placement.load import SLACK, Load

EPS = 1e-6
MOST_STATES = 1_500_000
MOST_PATTERNS = 60_000
BEAM, PRICING_STATES = 4_000, 200_000
PRICED_AT_ONCE = 60
CLOSE = 1e-3
BETTER = 1.02
"""A pattern worth so much ends the search for a better one."""

Prices = np.ndarray[tuple[int], np.dtype[np.float64]]


@dataclass(frozen=True)
class Bound:
    """What the relaxation says: units needed at least, prices of items (no pattern sums over 1), patterns."""

    value: float
    prices: Prices
    patterns: tuple[Column, ...]
    exact: bool

    @property
    def units(self) -> int:
        """The whole number of units needed at least."""
        return math.ceil(self.value - EPS)


def bound(
    load: Load,
    known: tuple[Column, ...],
    limits: Limits,
    cancel: threading.Event | None = None,
    enough: float = math.inf,
) -> Bound:
    """Bound the units by column generation from some known patterns; stopping early still gives a bound.

    It stops early where the bound is over ``enough``, or so close to the relaxation that little is left.
    """
    deadline = time.monotonic() + limits.time_s
    master, rng = Covering(load.count), np.random.default_rng(limits.seed)
    for column in [*((item,) for item in range(load.count)), *known]:
        master.add(column)
    best_value, best_prices = 0.0, np.zeros(load.count)
    while time.monotonic() < deadline and not (cancel is not None and cancel.is_set()):
        relaxed = master.relax()
        fresh = [column for column in quick_patterns(load, relaxed.prices, rng) if master.add(column)]
        if fresh:
            continue
        left = replace(limits, time_s=deadline - time.monotonic())
        worth, columns, sure = improving(load, relaxed.prices, left, cancel)
        scaled = relaxed.prices / max(1.0, worth)
        if scaled.sum() > best_value:
            best_value, best_prices = float(scaled.sum()), scaled
        added = [column for column in columns if master.add(column)]
        if not added or best_value > enough + EPS or relaxed.value - best_value < CLOSE:
            return Bound(best_value, best_prices, tuple(master.columns), sure)
    return Bound(best_value, best_prices, tuple(master.columns), False)


def quick_patterns(load: Load, prices: Prices, rng: np.random.Generator, tries: int = 12) -> list[Column]:
    """Give good patterns greedily: dearest first for their weighted size, under several weightings."""
    found = []
    for attempt in range(tries):
        weights = (
            np.ones(load.sizes.shape[1]) if attempt == 0 else rng.random(load.sizes.shape[1]) ** 2 + 1e-3
        )
        order = np.argsort(-(prices + 1e-9) / (load.sizes @ weights + 1e-9), kind="stable")
        pattern = _filled(load, order, prices)
        if prices[list(pattern)].sum() > 1.0 + EPS:
            found.append(pattern)
    return found


def _filled(load: Load, order: np.ndarray[tuple[int], np.dtype[np.int64]], prices: Prices) -> Column:
    left, taken = np.ones(load.sizes.shape[1]), list[int]()
    shut: set[int] = set()
    sizes = load.sizes
    for item in order.tolist():
        if prices[item] > 0.0 and item not in shut and (sizes[item] <= left + SLACK).all():
            left = left - sizes[item]
            taken.append(item)
            shut |= load.foes.get(item, frozenset())
    return tuple(sorted(taken))


def improving(
    load: Load, prices: Prices, limits: Limits, cancel: threading.Event | None = None
) -> tuple[float, list[Column], bool]:
    """Give the greatest worth of a pattern (or a bound), patterns worth over 1, and whether that is sure.

    Patterns worth over 1 are listed, the most promising few at first; where even many do not show them
    all, a whole-number programme has the last word.
    """
    stop = clock(limits, cancel)
    for most in (BEAM, PRICING_STATES):
        listed, complete = list_patterns(load, prices, -2 * EPS, stop, most, beam=True)
        ranked = sorted(listed, key=lambda column: -float(prices[list(column)].sum()))
        if complete:
            worth = float(prices[list(ranked[0])].sum()) if ranked else 1.0 + 2 * EPS
            return worth, ranked[:PRICED_AT_ONCE], True
        if ranked:
            return math.inf, ranked[:PRICED_AT_ONCE], False
    worth, column, sure = best_pattern(load, prices, limits)
    good = prices[list(column)].sum() > 1.0 + EPS
    return worth, [column] if good else [], sure


def best_pattern(load: Load, prices: Prices, limits: Limits) -> tuple[float, Column, bool]:
    """Give the dearest pattern, its worth (an upper bound where not sure), and whether it is sure."""
    program = Program()
    items = [item for item in range(load.count) if prices[item] > EPS / load.count]
    take = {item: program.binary(f"{item}") for item in items}
    for dim in range(load.sizes.shape[1]):
        total = program.total([(take[item], float(load.sizes[item, dim])) for item in items])
        program.row(f"full:{dim}", total <= 1.0 + SLACK)
    for item in items:
        for foe in load.foes.get(item, frozenset()):
            if foe > item and foe in take:
                program.row(f"apart:{item}/{foe}", take[item] + take[foe] <= 1)
    worth = program.total([(take[item], -float(prices[item])) for item in items])
    answer = run(program, worth, replace(limits, absolute_gap=EPS / 10, target=-BETTER))
    if not answer.found:
        return math.inf, (), False
    chosen = tuple(item for item in items if answer.values[take[item].name] > 0.5)
    return -answer.bound, chosen, -answer.bound - float(prices[list(chosen)].sum()) < EPS


def settle(
    load: Load, units: int, found: Bound, limits: Limits, cancel: threading.Event | None = None
) -> tuple[tuple[Column, ...] | None, bool]:
    """Say whether items pack into ``units`` units: the packing, or none and whether that is proven."""
    deadline = time.monotonic() + limits.time_s
    quick = replace(limits, time_s=min(limits.time_s / 4, 4.0))
    columns, _ = cover(load.count, found.patterns, units, quick, cancel)
    if columns is not None:
        return partition(columns), False
    left = replace(limits, time_s=deadline - time.monotonic())
    patterns, complete = list_patterns(load, found.prices, units - found.value, clock(left, cancel))
    if not complete:
        return None, False
    left = replace(limits, time_s=deadline - time.monotonic())
    columns, impossible = cover(load.count, patterns, units, left, cancel)
    return (partition(columns) if columns is not None else None), impossible


def partition(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Give each item to the first column that covers it."""
    seen: set[int] = set()
    units = []
    for column in columns:
        unit = tuple(item for item in column if item not in seen)
        seen.update(unit)
        units.append(unit)
    return tuple(unit for unit in units if unit)


Stop = Callable[[], bool]
"""Says whether time is up or the person has had enough."""


def clock(limits: Limits, cancel: threading.Event | None) -> Stop:
    """Give what says when a search must end."""
    deadline = time.monotonic() + limits.time_s
    return lambda: time.monotonic() > deadline or (cancel is not None and cancel.is_set())


def list_patterns(
    load: Load,
    prices: Prices,
    spare: float,
    stop: Stop,
    most_states: int = MOST_STATES,
    beam: bool = False,
) -> tuple[tuple[Column, ...], bool]:
    """List maximal patterns worth at least 1 - ``spare``, and say whether these are all.

    Grown item by item in order of price for size, a level at a time; what cannot reach the worth even if
    the best price for size filled all that is left of it is dropped. A level with too many patterns ends
    the list, or with ``beam`` goes on with those that may reach most.
    """
    order = np.argsort(-prices / (load.sizes.sum(axis=1) + 1e-12), kind="stable")
    items = _Ordered(load, prices, order)
    wanted = 1.0 - spare - 1e-7
    level = _Level.empty(load.sizes.shape[1])
    kept: list[Column] = []
    complete = True
    while len(level.worth) and len(kept) <= MOST_PATTERNS:
        kept += items.maximal(level, wanted, stop)
        level = items.grow(level, wanted, stop)
        if stop():
            complete = False
            break
        if len(level.worth) > most_states:
            complete = False
            if not beam:
                break
            level = level.best(most_states)
    complete = complete and len(kept) <= MOST_PATTERNS
    return tuple(tuple(sorted(int(order[item]) for item in pattern)) for pattern in kept), complete


Flags = np.ndarray[tuple[int, int], np.dtype[np.bool_]]
Ints = np.ndarray[tuple[int, int], np.dtype[np.int64]]
Grid = np.ndarray[tuple[int, int], np.dtype[np.float64]]


@dataclass(frozen=True)
class _Level:
    """Patterns of one length: what is left of the unit, worth, members, last added, worth in reach."""

    left: Grid
    worth: Prices
    members: Ints
    last: np.ndarray[tuple[int], np.dtype[np.int64]]
    reach: Prices

    @staticmethod
    def empty(dims: int) -> _Level:
        """Give the level that holds only the empty pattern."""
        none, nobody = np.zeros(1), np.zeros((1, 0), np.int64)
        return _Level(np.ones((1, dims)), none, nobody, np.full(1, -1, np.int64), none)

    @staticmethod
    def joined(parts: Sequence[_Level]) -> _Level:
        """Give several levels of one length as one."""
        return _Level(
            np.vstack([part.left for part in parts]),
            np.concatenate([part.worth for part in parts]),
            np.vstack([part.members for part in parts]),
            np.concatenate([part.last for part in parts]),
            np.concatenate([part.reach for part in parts]),
        )

    def best(self, count: int) -> _Level:
        """Give the patterns that may reach most, in their order."""
        kept = np.sort(np.argpartition(-self.reach, count)[:count])
        return _Level(
            self.left[kept], self.worth[kept], self.members[kept], self.last[kept], self.reach[kept]
        )


class _Ordered:
    """Items in order of price for size, with the best price for size among those that come later."""

    def __init__(self, load: Load, prices: Prices, order: np.ndarray[tuple[int], np.dtype[np.int64]]) -> None:
        self.sizes, self.price = load.sizes[order], prices[order]
        place = {int(item): index for index, item in enumerate(order)}
        self.allowed: Flags = np.ones((load.count, load.count), bool)
        for item, foes in load.foes.items():
            self.allowed[place[item], [place[foe] for foe in foes]] = False
        with_sum = np.hstack([self.sizes, self.sizes.sum(axis=1, keepdims=True)])
        density = self.price[:, None] / np.maximum(with_sum, 1e-12)
        later = np.maximum.accumulate(density[::-1], axis=0)[::-1]
        self.later = np.vstack([later, np.zeros((1, later.shape[1]))])

    def maximal(self, level: _Level, wanted: float, stop: Stop) -> list[Column]:
        """Give the patterns of a level that are worth enough and to which nothing can be added."""
        found: list[Column] = []
        for index in np.flatnonzero(level.worth >= wanted).tolist():
            if len(found) % 256 == 255 and stop():
                break
            inside = level.members[index]
            can = (self.sizes <= level.left[index] + SLACK).all(axis=1)
            can[inside] = False
            if len(inside):
                can &= self.allowed[inside].all(axis=0)
            if not can.any():
                found.append(tuple(inside.tolist()))
        return found

    def grow(self, level: _Level, wanted: float, stop: Stop) -> _Level:
        """Give the level one item longer, without what cannot reach the worth."""
        parts = [self._with(level, 0, wanted)]
        for item in range(1, len(self.sizes)):
            if stop():
                break
            parts.append(self._with(level, item, wanted))
        return _Level.joined(parts)

    def _with(self, level: _Level, item: int, wanted: float) -> _Level:
        """Give the patterns of a level with an item that comes after all of theirs."""
        parents = np.flatnonzero(level.last < item)
        parents = parents[(level.left[parents] >= self.sizes[item] - SLACK).all(axis=1)]
        if level.members.shape[1]:
            parents = parents[self.allowed[item][level.members[parents]].all(axis=1)]
        left = level.left[parents] - self.sizes[item]
        worth = level.worth[parents] + self.price[item]
        room = np.maximum(left, 0.0)
        reach = worth + np.minimum(
            (room * self.later[item + 1, :-1]).min(axis=1), room.sum(axis=1) * self.later[item + 1, -1]
        )
        keep = reach >= wanted
        members = np.hstack([level.members[parents[keep]], np.full((int(keep.sum()), 1), item)])
        last = np.full(int(keep.sum()), item, np.int64)
        return _Level(left[keep], worth[keep], members, last, reach[keep])
