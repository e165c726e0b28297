"""Items over bins of several kinds, the least share of bins that do: bin cover by column generation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from planner.solver.highs import THREADS
from planner.solver.silent import SilentHighs


@dataclass(frozen=True)
class BinCover:
    """How full the bins are at the least (over 1: too few), a price for each item, and one for each kind."""

    fullness: float
    prices: NDArray[np.float64]
    rates: NDArray[np.float64]


class BinCoverLP:
    """The least share of all bins in which every item has a place; a column fills one bin of a kind."""

    def __init__(self, items: int, bins: Sequence[int]) -> None:
        self.items = items
        self._known: set[tuple[int, tuple[int, ...]]] = set()
        self._solver = SilentHighs()
        self._solver.setOptionValue("output_flag", False)
        self._solver.setOptionValue("threads", THREADS)
        infinite, none, nothing = highspy.kHighsInf, np.array([], np.int32), np.array([], float)
        for _ in range(items):
            self._solver.addRow(1.0, infinite, 0, none, nothing)
        for _ in bins:
            self._solver.addRow(-infinite, 0.0, 0, none, nothing)
        rows = np.arange(items, items + len(bins), dtype=np.int32)
        self._solver.addCol(1.0, 0.0, infinite, len(bins), rows, -np.array(bins, float))

    def add(self, kind: int, filling: Sequence[int]) -> bool:
        """Add a way to fill a bin of a kind; False when it is there already."""
        key = kind, tuple(sorted(filling))
        if key in self._known or not filling:
            return False
        self._known.add(key)
        rows = np.array([*key[1], self.items + kind], np.int32)
        self._solver.addCol(0.0, 0.0, highspy.kHighsInf, len(rows), rows, np.ones(len(rows)))
        return True

    def relax(self) -> BinCover:
        """Solve over the columns there are; ValueError where some item has no column."""
        self._solver.run()
        if self._solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise ValueError("some item has no column")
        duals = np.array(self._solver.getSolution().row_dual)
        value = float(self._solver.getInfo().objective_function_value)
        return BinCover(value, np.maximum(duals[: self.items], 0.0), np.maximum(-duals[self.items :], 0.0))
