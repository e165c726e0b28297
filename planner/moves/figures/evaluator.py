"""Reads figures of the room off sets of blocks: the limits of a wave, and a figure's course over windows.

The polynomials are laid out as arrays once, so that a search can ask thousands of times.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.moves.figures.polynomials import Literal, Poly, Term
from planner.moves.figures.window_limits import list_all_limits
from planner.moves.tasks.limits import ROUNDING, passed_above
from planner.moves.tasks.work_packages import Work

Index = NDArray[np.intp]
Flags = NDArray[np.bool_]
Blocks = frozenset[str]
"""Blocks that are all done."""


@dataclass(frozen=True)
class Sums:
    """Several polynomials as arrays over blocks done now, blocks done before, and one that is always done.

    ``places`` is (terms, most literals of a term), ``values`` and ``owners`` (terms,): which sum each is of.
    """

    places: Index
    values: NDArray[np.float64]
    owners: Index
    count: int

    def read(self, flags: Flags) -> NDArray[np.float64]:
        """Compute the value of each polynomial; ``flags`` is (2 × blocks + 1,), the last one true."""
        on = flags[self.places].all(axis=1)
        found: NDArray[np.float64] = np.bincount(self.owners[on], self.values[on], self.count).astype(float)
        return found


def build_sums(work: Work, polys: Sequence[Poly]) -> Sums:
    """Lay out polynomials in tasks over the blocks of a work."""
    place = {block.name: number for number, block in enumerate(work.blocks)}
    always = 2 * len(place)

    def where(literal: Literal) -> int:
        if literal.name in work.past:
            return always
        return place[work.of_task[literal.name]] + (len(place) if literal.early else 0)

    rows, values, owners = [], [], []
    for owner, poly in enumerate(polys):
        for term, value in poly.terms.items():
            rows.append(sorted({where(literal) for literal in term}))
            values.append(value)
            owners.append(owner)
    widest = max(map(len, rows), default=0)
    filled = [row + [always] * (max(widest, 1) - len(row)) for row in rows]
    places = np.array(filled, np.intp).reshape(len(rows), max(widest, 1))
    return Sums(places, np.array(values, float), np.array(owners, np.intp), len(polys))


class LimitEvaluator:
    """What the waves of a work ask of every limit: at their fullest, once settled, and at their end."""

    def __init__(self, work: Work) -> None:
        self.work = work
        found = [limit for _, limit in list_all_limits(work)]
        self._most = np.array([item.most for item in found])
        self._over = np.array([passed_above(item.most) for item in found])
        self._sums = build_sums(work, [item.figure for item in found])
        self._place = {block.name: number for number, block in enumerate(work.blocks)}

    def flags(self, before: Iterable[str], batch: Iterable[str]) -> Flags:
        """Look up which blocks are done after a wave and before it."""
        count = len(self._place)
        found = np.zeros(2 * count + 1, np.bool_)
        found[-1] = True
        for name in before:
            found[self._place[name]] = found[self._place[name] + count] = True
        for name in batch:
            found[self._place[name]] = True
        return found

    def excess(self, flags: Flags, name: str) -> float:
        """Compute by what share a block more has a wave pass limits; 0 where it makes none worse.

        ``flags`` are those of the wave without the block.
        """
        more = flags.copy()
        more[self._place[name]] = True
        values = self._sums.read(more)
        over = values > self._over
        if over.any():
            over &= values > self._sums.read(flags) + ROUNDING
        shares = (values - self._most) / np.maximum(1.0, np.abs(self._most))
        return float(shares[over].sum())

    def holds(self, before: Iterable[str], batch: Iterable[str]) -> bool:
        """Say whether a wave keeps every limit."""
        return not (self._sums.read(self.flags(before, batch)) > self._over).any()


class Figure:
    """A figure of the states between windows, such as loudness or mean power, for schedules of a work."""

    def __init__(self, work: Work, poly: Poly) -> None:
        self.work = work
        self.terms: Mapping[Blocks, float] = poly.reduced(self._blocks)

    def _blocks(self, term: Term) -> Blocks:
        """Name blocks instead of tasks, leave out what is done, and what another one of the term needs."""
        named = {self.work.of_task[task] for task, _ in term if task not in self.work.past}
        return frozenset(n for n in named if not any(n in self.work.needed[o] for o in named))

    def after(self, done: Set[str]) -> float:
        """Compute the figure once some blocks are done."""
        return sum(value for term, value in self.terms.items() if term <= done)

    def mean(self, at: Mapping[str, int], spans_h: Sequence[float]) -> float:
        """Compute the mean over time; ``at`` is each block's window, a term holds from its last one on."""
        left = np.concatenate([np.cumsum(np.array(spans_h)[::-1])[::-1], [0.0]])
        found = sum(
            value * left[max((at[name] for name in term), default=0)] for term, value in self.terms.items()
        )
        return float(found / left[0])
