"""What is to be packed into alike units: item sizes, conflicts and classes, as one instance for every method.

Column generation, vector packing, tabu repair and the arc-flow model all take it. A unit's capacity is 1 in
every dimension.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np

from planner.placement.params import PARAMS

Sizes = np.ndarray[tuple[int, int], np.dtype[np.float64]]
"""Items by dimensions, each size a share of a unit's capacity."""

Flags = np.ndarray[tuple[int, int], np.dtype[np.bool_]]
Indices = np.ndarray[tuple[int], np.dtype[np.int64]]
T = TypeVar("T")

SLACK = PARAMS.near.slack


@dataclass(frozen=True)
class PoolInstance:
    """Items to pack into alike units: sizes as shares of a unit, and by item those it must not meet.

    Items of one size with the same conflicts are of one class: a pattern takes those in their order.
    """

    sizes: Sizes
    conflicts: Mapping[int, frozenset[int]]

    @property
    def count(self) -> int:
        """The number of items."""
        return int(self.sizes.shape[0])

    def conflicts_of(self, item: int) -> frozenset[int]:
        """Look up the items that an item must not meet."""
        return self.conflicts.get(item, frozenset())

    @cached_property
    def compatible(self) -> Flags:
        """Which two items may share a unit; no item with itself."""
        flags: Flags = np.ones((self.count, self.count), bool)
        for dim in range(self.sizes.shape[1]):
            flags &= self.sizes[:, dim, None] + self.sizes[None, :, dim] <= 1.0 + SLACK
        for item, others in self.conflicts.items():
            flags[item, list(others)] = False
        np.fill_diagonal(flags, False)
        return flags

    @cached_property
    def _members(self) -> list[list[int]]:
        members: dict[tuple[bytes, frozenset[int]], list[int]] = {}
        for item in range(self.count):
            members.setdefault((self.sizes[item].tobytes(), self.conflicts_of(item)), []).append(item)
        return list(members.values())

    @property
    def classes(self) -> int:
        """The number of classes."""
        return len(self._members)

    @cached_property
    def class_of(self) -> Indices:
        """The number of each item's class."""
        found = np.zeros(self.count, np.int64)
        for number, items in enumerate(self._members):
            found[items] = number
        return found

    @cached_property
    def predecessor(self) -> Indices:
        """The item of the same class that comes before each, -1 for the first of its class."""
        found = np.full(self.count, -1, np.int64)
        for items in self._members:
            found[items[1:]] = items[:-1]
        return found

    def by_class(self, values: Sequence[T]) -> tuple[tuple[T, ...], ...]:
        """Group something that each item has by class."""
        return tuple(tuple(values[item] for item in items) for items in self._members)

    def class_pattern(self, pattern: Sequence[int]) -> tuple[int, ...]:
        """Compute a pattern by the classes of its items, one entry for each item."""
        return tuple(sorted(self.class_of[list(pattern)].tolist()))

    def some(self, items: Sequence[int], filled: float = 1.0) -> PoolInstance:
        """Build the instance of some items, as shares of what of a unit is to be filled."""
        place = {item: index for index, item in enumerate(items)}
        conflicts = {
            place[item]: frozenset(place[other] for other in others if other in place)
            for item, others in self.conflicts.items()
            if item in place
        }
        return PoolInstance(self.sizes[items] / filled, conflicts)
