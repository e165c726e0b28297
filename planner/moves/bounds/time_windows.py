"""From when and until when each block can be done: by what is before it, what is after it, and the hours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from planner.moves.bounds.packing_duals import ROUNDING, DualPrice, PackingDuals, Values


@dataclass(frozen=True)
class TimeWindows:
    """The first and the last window of each block where all is done in ``windows`` windows."""

    windows: int
    earliest: Mapping[str, int]
    latest: Mapping[str, int]

    @property
    def is_empty(self) -> bool:
        """True when some block has no window: so few windows are not enough."""
        return any(self.earliest[name] > self.latest[name] for name in self.earliest)


def compute_time_windows(prices: PackingDuals, windows: int) -> TimeWindows:
    """Find the windows that each block can be in; those left out hold it in no schedule."""
    earliest, latest = _earliest(prices, windows), _latest(prices, windows)
    names = prices.grid.names
    return TimeWindows(
        windows, dict(zip(names, earliest, strict=True)), dict(zip(names, latest, strict=True))
    )


def _earliest(prices: PackingDuals, windows: int) -> list[int]:
    grid = prices.grid
    found = np.zeros(len(grid.names), int)
    for number, name in enumerate(grid.names):
        first = grid.ready[name]
        for other, lag in grid.before[name]:
            at = int(found[prices.place[other]])
            first = max(first, grid.first_after[lag][at] if at < windows else windows)
        found[number] = min(first, windows)
        places = prices.with_needed[number]
        if first < windows:
            first = max(
                first,
                *(_first_with_room(price, price.values[places], found[places]) for price in prices.known),
            )
        while first < windows and not grid.takes(name, first):
            first += 1
        found[number] = min(first, windows)
    return [int(index) for index in found]


def _first_with_room(price: DualPrice, values: Values, first: Values) -> int:
    """Compute the first window by which values, each from some window on, have room."""
    order = np.argsort(-first, kind="stable")
    before = np.concatenate([[0.0], price.until])
    wanted = np.max(np.cumsum(values[order]) + before[first[order]])
    return int(np.searchsorted(price.until, wanted - ROUNDING))


def _latest(prices: PackingDuals, windows: int) -> list[int]:
    grid = prices.grid
    found = np.full(len(grid.names), windows - 1)
    for number in range(len(grid.names) - 1, -1, -1):
        name = grid.names[number]
        last = windows - 1
        for other, lag in grid.after[name]:
            at = int(found[prices.place[other]])
            last = min(last, grid.latest_before[lag][at] if at >= 0 else -1)
        found[number] = last
        places = prices.with_needing[number]
        if last >= 0:
            last = min(
                last, *(_last_with_room(price, price.values[places], found[places]) for price in prices.known)
            )
        while last >= 0 and not grid.takes(name, last):
            last -= 1
        found[number] = last
    return [int(index) for index in found]


def _last_with_room(price: DualPrice, values: Values, last: Values) -> int:
    """Compute the last window from which on values, each until some window, have room; -1 for none."""
    order = np.argsort(last, kind="stable")
    room = np.min(price.until[last[order]] - np.cumsum(values[order]))
    before = np.concatenate([[0.0], price.until[:-1]])
    return int(np.searchsorted(before, room + ROUNDING, side="right")) - 1


def compute_least_windows(prices: PackingDuals, most: int) -> int:
    """Compute a number of windows that is certainly needed until all is done; over ``most`` for never."""
    names = prices.grid.names
    if not names:
        return 0
    windows = int(np.searchsorted(prices.known[0].until, prices.hours.sum() - ROUNDING)) + 1
    while windows <= most:
        if (
            not compute_time_windows(prices, windows).is_empty
            and prices.solve_cover(names, windows - 1) <= 1.0 + ROUNDING
        ):
            return windows
        windows += 1
    return windows


def count_open(within: TimeWindows) -> int:
    """Count how many block-windows are undecided."""
    return sum(max(0, within.latest[name] - within.earliest[name]) for name in within.earliest)


def compute_even_spread(within: TimeWindows, risky: Mapping[str, int]) -> int:
    """Compute how many critical services some window moves at the least, were they spread evenly."""
    found = max(risky.values(), default=0)
    starts = sorted({within.earliest[name] for name, risk in risky.items() if risk})
    for first in starts:
        inside = [name for name, risk in risky.items() if risk and within.earliest[name] >= first]
        last = max(within.latest[name] for name in inside)
        found = max(found, math.ceil(sum(risky[name] for name in inside) / (last - first + 1)))
    return found
