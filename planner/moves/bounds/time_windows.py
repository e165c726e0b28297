"""From when and until when each block can be done: by what is before it, what is after it, and the hours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from planner.moves.bounds.packing_duals import ROUNDING, Price, Prices, Values


@dataclass(frozen=True)
class Reach:
    """The first and the last window of each block where all is done in ``windows`` windows."""

    windows: int
    earliest: Mapping[str, int]
    latest: Mapping[str, int]

    @property
    def is_empty(self) -> bool:
        """True when some block has no window: so few windows are not enough."""
        return any(self.earliest[name] > self.latest[name] for name in self.earliest)


def reach(prices: Prices, windows: int) -> Reach:
    """Find the windows that each block can be in; those left out hold it in no schedule."""
    earliest, latest = _earliest(prices, windows), _latest(prices, windows)
    names = prices.frame.names
    return Reach(windows, dict(zip(names, earliest, strict=True)), dict(zip(names, latest, strict=True)))


def _earliest(prices: Prices, windows: int) -> list[int]:
    frame = prices.frame
    found = np.zeros(len(frame.names), int)
    for number, name in enumerate(frame.names):
        first = frame.ready[name]
        for other, lag in frame.before[name]:
            at = int(found[prices.place[other]])
            first = max(first, frame.first_after[lag][at] if at < windows else windows)
        found[number] = min(first, windows)
        places = prices.with_needed[number]
        if first < windows:
            first = max(
                first,
                *(_first_with_room(price, price.values[places], found[places]) for price in prices.known),
            )
        while first < windows and not frame.takes(name, first):
            first += 1
        found[number] = min(first, windows)
    return [int(index) for index in found]


def _first_with_room(price: Price, values: Values, first: Values) -> int:
    """Give the first window by which values, each from some window on, have room."""
    order = np.argsort(-first, kind="stable")
    before = np.concatenate([[0.0], price.until])
    wanted = np.max(np.cumsum(values[order]) + before[first[order]])
    return int(np.searchsorted(price.until, wanted - ROUNDING))


def _latest(prices: Prices, windows: int) -> list[int]:
    frame = prices.frame
    found = np.full(len(frame.names), windows - 1)
    for number in range(len(frame.names) - 1, -1, -1):
        name = frame.names[number]
        last = windows - 1
        for other, lag in frame.after[name]:
            at = int(found[prices.place[other]])
            last = min(last, frame.latest_before[lag][at] if at >= 0 else -1)
        found[number] = last
        places = prices.with_needing[number]
        if last >= 0:
            last = min(
                last, *(_last_with_room(price, price.values[places], found[places]) for price in prices.known)
            )
        while last >= 0 and not frame.takes(name, last):
            last -= 1
        found[number] = last
    return [int(index) for index in found]


def _last_with_room(price: Price, values: Values, last: Values) -> int:
    """Give the last window from which on values, each until some window, have room; -1 for none."""
    order = np.argsort(last, kind="stable")
    room = np.min(price.until[last[order]] - np.cumsum(values[order]))
    before = np.concatenate([[0.0], price.until[:-1]])
    return int(np.searchsorted(before, room + ROUNDING, side="right")) - 1


def least_windows(prices: Prices, most: int) -> int:
    """Give a number of windows that is certainly needed until all is done; over ``most`` for never."""
    names = prices.frame.names
    if not names:
        return 0
    windows = int(np.searchsorted(prices.known[0].until, prices.hours.sum() - ROUNDING)) + 1
    while windows <= most:
        if not reach(prices, windows).is_empty and prices.learn(names, windows - 1) <= 1.0 + ROUNDING:
            return windows
        windows += 1
    return windows


def open_count(within: Reach) -> int:
    """Give how many block-windows are undecided."""
    return sum(max(0, within.latest[name] - within.earliest[name]) for name in within.earliest)


def evenly(within: Reach, risky: Mapping[str, int]) -> int:
    """Give how many critical services some window moves at the least, were they spread evenly."""
    found = max(risky.values(), default=0)
    starts = sorted({within.earliest[name] for name, risk in risky.items() if risk})
    for first in starts:
        inside = [name for name, risk in risky.items() if risk and within.earliest[name] >= first]
        last = max(within.latest[name] for name in inside)
        found = max(found, math.ceil(sum(risky[name] for name in inside) / (last - first + 1)))
    return found
