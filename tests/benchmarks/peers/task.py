"""A placement problem as every peer sees it: makes of machine, items, conflicts, rows; nothing of our models.

Figures of an item depend on the make: what it takes of each resource there, and what it adds to what is
minimised. A filling says what each machine carries; ``worth`` judges it for every side alike.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

TOLERANCE = 1e-6

Filling = Sequence[tuple[int, tuple[int, ...]]]
"""By machine: the number of its make, and the items on it."""

Figures = tuple[float, ...]


@dataclass(frozen=True)
class Make:
    """A make of machine: up to ``units`` of it, each for one item only where ``single``.

    ``sizes``: by item that may go there what it takes of each resource, in each hour where there are hours.
    ``each``: what an item there adds to what is minimised, beside the ``fixed`` of the machine itself.
    ``clashes``: pairs of items that must not share a machine of this make, beside the task's conflicts.
    """

    name: str
    capacity: Figures
    fixed: float
    units: int
    sizes: Mapping[int, Figures]
    each: Mapping[int, float] = field(default_factory=dict)
    single: bool = False
    clashes: frozenset[tuple[int, int]] = frozenset()

    def holds(self, items: Sequence[int]) -> bool:
        """Say whether one machine holds these items, conflicts aside."""
        if any(item not in self.sizes for item in items) or (self.single and len(items) > 1):
            return False
        if self.clashes and any(pair in self.clashes for pair in combinations(sorted(items), 2)):
            return False
        loads = (math.fsum(column) for column in zip(*(self.sizes[item] for item in items), strict=True))
        return all(
            load <= most + TOLERANCE * max(1.0, most) for load, most in zip(loads, self.capacity, strict=True)
        )

    def adds(self, items: Sequence[int]) -> float:
        """Compute what a machine with these items adds to what is minimised."""
        return self.fixed + math.fsum(self.each.get(item, 0.0) for item in items)


@dataclass(frozen=True)
class Row:
    """A limit on the whole: by make what a machine and what an item there count for, at most ``most``."""

    name: str
    fixed: tuple[float, ...]
    each: tuple[Mapping[int, float], ...]
    most: float


@dataclass(frozen=True)
class Task:
    """A problem: every item on one machine, no two of a conflict on the same, the least total."""

    name: str
    items: int
    makes: tuple[Make, ...]
    conflicts: frozenset[tuple[int, int]] = frozenset()
    rows: tuple[Row, ...] = ()
    constant: float = 0.0

    @cached_property
    def foes(self) -> Mapping[int, frozenset[int]]:
        """By item, those it must not share a machine with."""
        found: dict[int, set[int]] = {}
        for left, right in self.conflicts:
            found.setdefault(left, set()).add(right)
            found.setdefault(right, set()).add(left)
        return {item: frozenset(others) for item, others in found.items()}

    def pairs(self, make: Make) -> list[tuple[int, int]]:
        """List the pairs of items that must not share a machine of a make."""
        if make.single:
            return []
        inside = [pair for pair in self.conflicts if pair[0] in make.sizes and pair[1] in make.sizes]
        return sorted({*inside, *make.clashes})

    def worth(self, filling: Filling) -> float:
        """Compute the total of a filling, infinite where it breaks a rule."""
        if any(self._breaches(filling)):
            return math.inf
        return self.constant + math.fsum(self.makes[make].adds(items) for make, items in filling)

    def _breaches(self, filling: Filling) -> Iterator[bool]:
        placed = sorted(item for _, items in filling for item in items)
        yield placed != list(range(self.items))
        used = Counter(make for make, _ in filling)
        yield any(count > self.makes[number].units for number, count in used.items())
        for number, items in filling:
            yield not self.makes[number].holds(items)
            here = set(items)
            yield any(not here.isdisjoint(self.foes.get(item, ())) for item in items)
        for row in self.rows:
            total = math.fsum(
                row.fixed[make] + math.fsum(row.each[make].get(item, 0.0) for item in items)
                for make, items in filling
            )
            yield total > row.most + TOLERANCE * max(1.0, abs(row.most))
