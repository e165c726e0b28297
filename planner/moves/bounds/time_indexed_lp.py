"""The whole schedule with blocks done in shares: a bound on a figure over time, and an order of the blocks.

A share of a block is done by the end of each window. It needs as much of what comes before, early enough,
and hours; so it sees what a floor of one window does not: that work done early has kept other work back
(the time-indexed relaxation; for orders read off it see Hall, Schulz, Shmoys and Wein 1997).

Why so: the whole schedule is one linear programme in arrays. The bound is added up anew from the dual
values (`bounds.array_lp`), so a rough interior point will do. What is held, the level while watts are
bounded, is priced instead of made a row: half the time, and the floors choose the price.

Tried and left: reduced-cost fixing (no column is fixed: the cost of a block sits in its chain), floors as
rows, hours of single windows as rows.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from planner.moves.bounds.array_lp import ArrayLP, Floats, Places
from planner.moves.bounds.packing_duals import LEAST, ROUNDING, DualPrice, PackingDuals
from planner.moves.bounds.time_windows import TimeWindows
from planner.moves.figures.evaluator import Blocks, Figure
from planner.moves.figures.polynomials import Poly, number
from planner.moves.tasks.work_packages import Work
from planner.solver import Limits


@dataclass(frozen=True)
class RelaxedSchedule:
    """A bound on a figure's mean over time, and after how many windows each block is done on the mean.

    ``done_after`` is empty where no point was found in the time.
    """

    bound: float
    done_after: Mapping[str, float]


@dataclass(frozen=True)
class TimeIndexedLP:
    """The programme of one figure for schedules within a reach."""

    prices: PackingDuals
    within: TimeWindows
    figure: Figure

    def solve(self, seconds: float, cancel: threading.Event | None = None) -> RelaxedSchedule:
        """Solve it; the bound is minus infinity where the time was not enough."""
        if not self.names:
            return RelaxedSchedule(self._mean()[1], {})
        found = self.arrays.solve(Limits(time_s=seconds), cancel)
        if not len(found.values):
            return RelaxedSchedule(found.bound, {})
        open_ = 1.0 - found.values.reshape(-1, self.windows)
        late = dict.fromkeys(self.prices.grid.names, float(self.windows))
        return RelaxedSchedule(
            found.bound, late | dict(zip(self.names, open_.sum(axis=1).tolist(), strict=False))
        )

    @property
    def windows(self) -> int:
        """How many windows there are."""
        return self.prices.grid.count

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The blocks that the figure hangs on, and what these need; others are done at the end."""
        wanted: set[str] = set()
        for term in self.figure.terms:
            wanted.update(term, *(self.prices.grid.work.needed[name] for name in term))
        return tuple(name for name in self.prices.grid.names if name in wanted)

    @cached_property
    def rows(self) -> Mapping[Blocks, int]:
        """What has a column for each window, by number: every block, and every product of the figure."""
        products = [term for term in self.figure.terms if len(term) > 1]
        terms = [*(frozenset((name,)) for name in self.names), *products]
        return {term: number for number, term in enumerate(dict.fromkeys(terms))}

    @cached_property
    def arrays(self) -> ArrayLP:
        """The programme; a column is a row's number times the windows, plus the window."""
        lower, upper = self._bounds()
        cost, constant = self._mean()
        arrays = ArrayLP(cost, lower, upper, constant)
        self._order(arrays)
        for price in self.prices.known:
            self._room(arrays, price)
        for term in self.rows:
            if len(term) > 1:
                self._product(arrays, term)
        return arrays

    def _columns(self, term: Blocks) -> Places:
        """Look up the columns of a block or a product, window by window."""
        return self.rows[term] * self.windows + np.arange(self.windows)

    def _block(self, name: str) -> Places:
        return self._columns(frozenset((name,)))

    def _bounds(self) -> tuple[Floats, Floats]:
        """Compute what is certainly not done, or done, by the end of each window."""
        names, when = self.names, np.arange(self.windows)
        latest = np.array([[self.within.latest[name]] for name in names])
        earliest = np.array([[self.within.earliest[name]] for name in names])
        lower, upper = (when >= latest).astype(float), (when >= earliest).astype(float)
        place = {name: number for number, name in enumerate(names)}
        products = [[place[name] for name in term] for term in self.rows if len(term) > 1]
        lowers = [lower[places].min(axis=0) for places in products]
        uppers = [upper[places].min(axis=0) for places in products]
        return np.vstack([lower, *lowers]).ravel(), np.vstack([upper, *uppers]).ravel()

    def _mean(self) -> tuple[Floats, float]:
        """Compute the figure's mean over time: the factor of each column, and the constant."""
        spans = np.array(self.prices.grid.spans_h)
        factors = np.zeros((len(self.rows), self.windows))
        for term, value in self.figure.terms.items():
            if term:
                factors[self.rows[term]] += value * spans / spans.sum()
        return factors.ravel(), self.figure.terms.get(frozenset(), 0.0)

    def _order(self, arrays: ArrayLP) -> None:
        """What is done stays done, and comes after what it follows."""
        grid, none = self.prices.grid, np.zeros(self.windows)
        sides = np.array([1.0, -1.0])
        for name in self.names:
            now = self._block(name)
            arrays.at_most(np.stack([now[:-1], now[1:]], axis=1), sides, none[1:])
            short = np.array([not grid.takes(name, index) for index in range(1, self.windows)], bool)
            arrays.at_most(np.stack([now[1:], now[:-1]], axis=1)[short], sides, none[1:][short])
            for before, lag in grid.before[name]:
                at = np.array(grid.last_before(before, name, lag))
                there = self._block(before)[np.maximum(at, 0)]
                arrays.at_most(np.stack([now, there], axis=1)[at >= 0], sides, none[at >= 0])

    def _room(self, arrays: ArrayLP, price: DualPrice) -> None:
        """What is done by the end of a window takes no more than the windows until then hold."""
        values = price.values[[self.prices.place[name] for name in self.names]]
        used = np.flatnonzero(values)
        places = used[None, :] * self.windows + np.arange(self.windows)[:, None]
        arrays.at_most(places, values[used], price.until + ROUNDING)

    def _product(self, arrays: ArrayLP, term: Blocks) -> None:
        """A product is done as far as the least of its factors, and no less than all of them together."""
        both = self._columns(term)
        each = [self._block(name) for name in sorted(term)]
        for one in each:
            arrays.at_most(np.stack([both, one], axis=1), np.array([1.0, -1.0]), np.zeros(self.windows))
        factors = np.array([*(1.0 for _ in each), -1.0])
        arrays.at_most(np.stack([*each, both], axis=1), factors, np.full(self.windows, len(each) - 1.0))


def build_priced_figures(
    work: Work, poly: Poly, held: Poly, most: float, value: float, shares: Sequence[float]
) -> Iterator[Figure]:
    """Build figures that are never over ``poly`` where the mean of ``held`` is at most ``most``.

    What ``held`` is below that counts at a price (Lagrangian relaxation, Geoffrion 1974), so a bound on such
    a figure is one on ``poly``; ``value`` is what the mean of that is about. A price
    is a share of that over ``most``.
    """
    for share in shares:
        price = share * value / max(abs(most), LEAST)
        yield Figure(work, poly + held.times(price) + number(-price * most))
