"""Large linear programmes as arrays, for a bound: read off the dual values, so that no rounding is in it.

Any dual values give a bound (weak duality): those of the solver are taken as a proposal, and the bound that
follows from them is added up anew.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

import highspy
import numpy as np
from numpy.typing import NDArray

from planner.solver.highs import highs_options, listen
from planner.solver.silent import SilentHighs
from planner.solver.solution import Limits

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

INTERIOR = {"solver": "ipm", "run_crossover": "off", "ipm_optimality_tolerance": 1e-4}
"""Far enough for a bound and an order; the last digits would take a third longer."""

LARGEST_COST = 1000.0
"""Costs are scaled so that this is the largest: the solver's tolerances then mean the same everywhere."""


@dataclass(frozen=True)
class BoundedPoint:
    """A bound on the objective, and the point that the solver came to, (columns,); empty for none."""

    bound: float
    values: Floats


@dataclass
class ArrayLP:
    """Minimise ``cost·x + constant`` over ``lower <= x <= upper``, all finite, and rows that are added.

    ``cost``, ``lower`` and ``upper`` are (columns,).
    """

    cost: Floats
    lower: Floats
    upper: Floats
    constant: float = 0.0
    places: list[Places] = field(default_factory=list)
    factors: list[Floats] = field(default_factory=list)
    most: list[Floats] = field(default_factory=list)

    def at_most(self, places: Places, factors: Floats, most: Floats) -> None:
        """Add rows, but those that hold anyway: the sum of ``factors * x[places]`` is at most ``most``.

        ``places`` is (rows, terms), ``factors`` (terms,) or (rows, terms), ``most`` (rows,).
        """
        factors = np.broadcast_to(factors, places.shape)
        highest = np.maximum(factors * self.lower[places], factors * self.upper[places]).sum(axis=1)
        kept = highest > most
        self.places.append(places[kept])
        self.factors.append(factors[kept])
        self.most.append(most[kept])

    def solve(self, limits: Limits, cancel: threading.Event | None = None) -> BoundedPoint:
        """Solve by an interior-point method; no bound (minus infinity) where the time was not enough."""
        solver = SilentHighs()
        options = highs_options(limits) | INTERIOR
        for option, value in options.items():
            solver.setOptionValue(option, value)
        scale = LARGEST_COST / max(float(np.abs(self.cost).max(initial=0.0)), 1e-300)
        solver.passModel(self._model(scale))
        listen(solver, cancel, None, 0.0)
        solver.run()
        found = solver.getSolution()
        if not found.dual_valid:
            return BoundedPoint(-np.inf, np.array([]))
        return BoundedPoint(self.compute_bound(np.array(found.row_dual) / scale), np.array(found.col_value))

    def compute_bound(self, duals: Floats) -> float:
        """Compute the bound that dual values, (rows,), prove; those of the wrong sign count as 0."""
        duals = np.minimum(duals, 0.0)
        reduced, first = self.cost.copy(), 0
        for places, factors, most in zip(self.places, self.factors, self.most, strict=True):
            own = duals[first : first + len(most)]
            np.subtract.at(reduced, places, own[:, None] * factors)
            first += len(most)
        least = np.minimum(reduced * self.lower, reduced * self.upper).sum()
        return float(least + duals @ np.concatenate([*self.most, np.zeros(0)]) + self.constant)

    def _model(self, scale: float) -> highspy.HighsLp:
        model = highspy.HighsLp()
        most = np.concatenate([*self.most, np.zeros(0)])
        model.num_col_, model.num_row_ = len(self.cost), len(most)
        model.col_cost_ = self.cost * scale
        model.col_lower_, model.col_upper_ = self.lower, self.upper
        model.row_lower_, model.row_upper_ = np.full(len(most), -highspy.kHighsInf), most
        widths = [np.full(len(places), places.shape[1]) for places in self.places]
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = np.concatenate([[0], np.cumsum(np.concatenate([*widths, np.zeros(0, int)]))])
        model.a_matrix_.index_ = np.concatenate([*map(np.ravel, self.places), np.zeros(0, int)]).astype(
            np.int32
        )
        model.a_matrix_.value_ = np.concatenate([*map(np.ravel, self.factors), np.zeros(0)])
        return model
