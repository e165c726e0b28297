"""How many alike units a set of items needs, by patterns: what one unit can carry at once.

Column generation gives the relaxation's value and prices for the items; the prices are a valid inequality
for every subset of the items. Where relaxation and best packing differ, all patterns whose reduced cost
leaves them a chance are listed, and the whole-number programme over them settles the question.
"""

from __future__ import annotations

import math
import threading
import time
from dataclasses import dataclass, replace

import numpy as np

from planner.milp import Limits, Program, run
from planner.milp.covering import Column, Covering, cover
from planner.placement.load import SLACK, Load

EPS = 1e-6
MOST_STATES = 1_500_000
MOST_PATTERNS = 60_000

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
    load: Load, known: tuple[Column, ...], limits: Limits, cancel: threading.Event | None = None
) -> Bound:
    """Bound the units by column generation from some known patterns; stopping early still gives a bound."""
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
        worth, column, sure = best_pattern(load, relaxed.prices, left)
        scaled = relaxed.prices / max(1.0, worth)
        if scaled.sum() > best_value:
            best_value, best_prices = float(scaled.sum()), scaled
        if not sure or worth <= 1.0 + EPS or not master.add(column):
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
    answer = run(program, worth, replace(limits, absolute_gap=EPS / 10))
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
    if not found.exact:
        return None, False
    patterns = all_patterns(load, found.prices, units - found.value)
    if patterns is None:
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


def all_patterns(load: Load, prices: Prices, spare: float) -> tuple[Column, ...] | None:
    """List every maximal pattern worth at least 1 - ``spare``; None when they are too many.

    Grown item by item in order of price for size, a level at a time; what cannot reach the worth even if
    the best price for size filled all that is left of it is dropped.
    """
    total = load.sizes.sum(axis=1) + 1e-12
    order = np.argsort(-prices / total, kind="stable")
    sizes, price = load.sizes[order], prices[order]
    density = np.append(price / total[order], 0.0)
    wanted = 1.0 - spare - 1e-7
    allowed = _friends(load, order)
    left = np.ones((1, sizes.shape[1]))
    worth, members = np.zeros(1), np.zeros((1, 0), np.int64)
    last = np.full(1, -1, np.int64)
    kept: list[Column] = []
    while len(worth):
        kept += _maximal(sizes, allowed, left, worth, members, wanted)
        grown = _grow(sizes, price, density, allowed, left, worth, members, last, wanted)
        if grown is None or len(kept) > MOST_PATTERNS:
            return None
        left, worth, members, last = grown
    return tuple(tuple(sorted(int(order[item]) for item in pattern)) for pattern in kept)


Flags = np.ndarray[tuple[int, int], np.dtype[np.bool_]]
Ints = np.ndarray[tuple[int, int], np.dtype[np.int64]]
Grid = np.ndarray[tuple[int, int], np.dtype[np.float64]]


def _friends(load: Load, order: np.ndarray[tuple[int], np.dtype[np.int64]]) -> Flags:
    allowed = np.ones((load.count, load.count), bool)
    place = {int(item): index for index, item in enumerate(order)}
    for item, foes in load.foes.items():
        for foe in foes:
            allowed[place[item], place[foe]] = False
    return allowed


def _maximal(
    sizes: Grid, allowed: Flags, left: Grid, worth: Prices, members: Ints, wanted: float
) -> list[Column]:
    """Give the patterns of a level that are worth enough and to which nothing can be added."""
    found: list[Column] = []
    for index in np.flatnonzero(worth >= wanted).tolist():
        inside = members[index]
        can = (sizes <= left[index] + SLACK).all(axis=1)
        can[inside] = False
        if len(inside):
            can &= allowed[inside].all(axis=0)
        if not can.any():
            found.append(tuple(inside.tolist()))
    return found


def _grow(
    sizes: Grid,
    price: Prices,
    density: Prices,
    allowed: Flags,
    left: Grid,
    worth: Prices,
    members: Ints,
    last: np.ndarray[tuple[int], np.dtype[np.int64]],
    wanted: float,
) -> tuple[Grid, Prices, Ints, np.ndarray[tuple[int], np.dtype[np.int64]]] | None:
    lefts, worths, groups, lasts, states = [], [], [], [], 0
    for item in range(len(sizes)):
        from_here = np.flatnonzero(last < item)
        fits = (left[from_here] >= sizes[item] - SLACK).all(axis=1)
        parents = from_here[fits]
        if members.shape[1]:
            parents = parents[allowed[item][members[parents]].all(axis=1)]
        rest = left[parents] - sizes[item]
        value = worth[parents] + price[item]
        reach = value + np.maximum(rest, 0.0).sum(axis=1) * density[item + 1]
        keep = reach >= wanted
        parents, rest, value = parents[keep], rest[keep], value[keep]
        states += len(parents)
        if states > MOST_STATES:
            return None
        lefts.append(rest)
        worths.append(value)
        groups.append(np.hstack([members[parents], np.full((len(parents), 1), item)]))
        lasts.append(np.full(len(parents), item))
    return np.vstack(lefts), np.concatenate(worths), np.vstack(groups), np.concatenate(lasts)
