"""Prices of blocks that no window can pass: what fits in some windows, bins and all, as one row each.

A price is a value for each block and, for each length of window, the most value that fits in one. So the
value of all that is done by a window is at most what the windows until then can hold. Hours are one such
price; others come from spreading blocks over the windows by columns (Gilmore and Gomory 1961), and see
that two long blocks do not share a short window.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.moves.bounds.bin_cover import BinCoverLP
from planner.moves.grid.time_grid import TimeGrid
from planner.moves.params import ScheduleParams

LEAST = 1e-9
ROUNDING = 1e-6

Values = NDArray[np.float64]


@dataclass(frozen=True)
class DualPrice:
    """The value of each block, in the order of ``TimeGrid.names``; the most of windows 0 to each."""

    values: Values
    until: Values

    def between(self, first: int, last: int) -> float:
        """Look up the most value that windows ``first`` to ``last`` hold."""
        return float(self.until[last] - (self.until[first - 1] if first else 0.0))


@dataclass
class PackingDuals:
    """All prices known for a grid; the first one is hours."""

    grid: TimeGrid
    params: ScheduleParams = field(default_factory=ScheduleParams)
    known: list[DualPrice] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Begin with hours."""
        slots = self.grid.slots
        self.hours: Values = np.array([self.grid.blocks[name].hours for name in self.grid.names])
        self.kinds = sorted({(slot.crew_h, slot.hours) for slot in slots})
        self.kind = [self.kinds.index((slot.crew_h, slot.hours)) for slot in slots]
        self.place = {name: number for number, name in enumerate(self.grid.names)}
        self._fillings: set[tuple[int, tuple[int, ...]]] = set()
        self.known.append(DualPrice(self.hours, np.cumsum([slot.crew_h for slot in slots])))

    @cached_property
    def with_needed(self) -> list[NDArray[np.intp]]:
        """For each block the places of all that must be done before it, and its own."""
        needed = self.grid.work.needed
        return [np.array([self.place[o] for o in (*needed[n], n)], np.intp) for n in self.grid.names]

    @cached_property
    def with_needing(self) -> list[NDArray[np.intp]]:
        """For each block the places of all that needs it, and its own."""
        found: list[list[int]] = [[number] for number in range(len(self.hours))]
        for number, places in enumerate(self.with_needed):
            for other in places[:-1]:
                found[int(other)].append(number)
        return [np.array(places, np.intp) for places in found]

    def solve_cover(self, names: Iterable[str], last: int) -> float:
        """Spread some blocks over windows 0 to ``last``; keep the prices, give how full those get.

        Over 1 the blocks do not fit. Where one is too long for each of these windows, nothing is learned.
        """
        items = sorted(self.place[name] for name in names)
        longest_h = max((min(self.kinds[kind]) for kind in self.kind[: last + 1]), default=0.0)
        if any(self.hours[item] > longest_h + LEAST for item in items):
            return math.inf
        row = {item: number for number, item in enumerate(items)}
        bins = np.bincount(self.kind[: last + 1], minlength=len(self.kinds)).tolist()
        spreading = BinCoverLP(len(items), bins)
        for kind, size in enumerate(self.kinds):
            for item in items:
                if self.hours[item] <= min(size) + LEAST:
                    spreading.add(kind, [row[item]])
        for kind, filling in self._fillings:
            spreading.add(kind, [row[item] for item in filling if item in row])
        values = np.zeros(len(self.hours))
        for _ in range(max(self.params.cover_rounds, self.params.cover_work // max(1, len(items)))):
            spread = spreading.relax()
            values[items] = spread.prices
            if not self._more(spreading, values, spread.rates, row):
                break
        self._keep(values)
        return float(values.sum() / max(LEAST, self.known[-1].until[last]))

    def _more(self, spreading: BinCoverLP, values: Values, rates: Values, row: dict[int, int]) -> bool:
        """Add a better way to fill each kind of window; False when there is none."""
        found = False
        for kind, (crew_h, length_h) in enumerate(self.kinds):
            worth, filling = self._fill(values, crew_h, length_h)
            if worth > rates[kind] + ROUNDING:
                self._fillings.add((kind, tuple(filling)))
                found |= spreading.add(kind, [row[item] for item in filling])
        return found

    def _fill(self, values: Values, crew_h: float, length_h: float) -> tuple[float, list[int]]:
        return solve_knapsack(values, self.hours, crew_h, length_h, self.params.cell_h)

    def _keep(self, values: Values) -> None:
        """Keep a price; the most that fits is found anew, so that it holds whatever the rounding was."""
        most = [self._fill(values, crew_h, length_h)[0] for crew_h, length_h in self.kinds]
        self.known.append(DualPrice(values.copy(), np.cumsum([most[kind] for kind in self.kind])))


def solve_knapsack(
    values: Values, hours: Values, crew_h: float, length_h: float, cell_h: float
) -> tuple[float, list[int]]:
    """Solve for the most value of blocks in one window and which they are, hours rounded down to the grid."""
    cells = math.floor(crew_h / cell_h + 1e-3)
    sizes = np.floor(hours / cell_h + ROUNDING).astype(int)
    best = np.zeros(cells + 1)
    taken: list[tuple[int, NDArray[np.bool_]]] = []
    for item in range(len(values)):
        size = sizes[item]
        if values[item] <= LEAST or hours[item] > length_h + LEAST or size > cells:
            continue
        with_it = np.full(cells + 1, -np.inf)
        with_it[size:] = best[: cells + 1 - size] + values[item]
        better = with_it > best + LEAST
        taken.append((item, better))
        best = np.where(better, with_it, best)
    return float(best[-1]), _read(taken, sizes, cells)


def _read(taken: Sequence[tuple[int, NDArray[np.bool_]]], sizes: NDArray[np.int_], cells: int) -> list[int]:
    found = []
    for item, better in reversed(taken):
        if better[cells]:
            found.append(item)
            cells -= int(sizes[item])
    return found
