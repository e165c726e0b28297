"""A programme whose pools are written by columns too: what one unit of a pool carries at once.

The linear programme grows by columns and prices units and items; a column may be fixed as taken. Solved in
whole numbers, it says which columns to take, with all other rows of the programme held.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import highspy
import numpy as np
import pulp

from planner.placement.column_generation.pool_rows import Pool, Prices, owned
from planner.solver.confirm import Claim
from planner.solver.duality import dual_bound
from planner.solver.highs import CONFIRM_NODES, CONFIRM_S, as_highs, highs_options, listen, read_highs
from planner.solver.program import Program
from planner.solver.silent import SilentHighs
from planner.solver.solution import Answer, Ending, Limits
from planner.solver.standard_form import Places, form_of, form_of_highs

Column = tuple[int, ...]


@dataclass(frozen=True)
class Relaxation:
    """A solved relaxation: value, by pool the prices of a unit and of its classes of items, use of columns.

    Every answer is worth the value and, for each of its units, what the unit's whole price is over those of
    its items; ``units`` and ``items`` leave out what rows and variables of the programme are priced at.
    """

    value: float
    units: tuple[float, ...]
    items: tuple[Prices, ...]
    used: Prices
    whole: tuple[tuple[float, Prices], ...]


def _relaxed(
    program: Program, objective: pulp.LpAffineExpression, rows: Mapping[str, pulp.LpConstraint]
) -> tuple[highspy.Highs, list[highspy.HighsVarType]]:
    """Build a programme with whole numbers let go, ready to be solved, and which they are."""
    solver = SilentHighs()
    for option, value in highs_options(Limits()).items():
        solver.setOptionValue(option, value)
    model = as_highs(program.variables, objective, rows)
    integrality = list(model.integrality_)
    model.integrality_ = []
    solver.passModel(model)
    return solver, integrality


class Rows:
    """The relaxation of a programme with pools, which grows by rows: prices that no unit's items exceed."""

    def __init__(
        self,
        program: Program,
        objective: pulp.LpAffineExpression,
        rows: Mapping[str, pulp.LpConstraint],
        pools: Sequence[Pool],
    ) -> None:
        self._solver, _ = _relaxed(program, objective, rows)
        self._form = form_of(program.variables, objective, rows)
        self._more: list[tuple[Places, Prices]] = []
        place = {variable: index for index, variable in enumerate(program.variables)}
        self._index = [
            np.array([place[pool.on], *(place[v] for alike in pool.place for v in alike)], np.int32)
            for pool in pools
        ]
        self._class_of = [
            np.repeat(np.arange(len(p.place)), [len(alike) for alike in p.place]) for p in pools
        ]
        self._solver.run()

    def add(self, pool: int, prices: Prices) -> bool:
        """Hold a pool's units at the sum of its items' prices, given by class; False where they are so."""
        index, row = self._index[pool], np.concatenate([[1.0], -prices[self._class_of[pool]]])
        now = np.array(self._solver.getSolution().col_value)
        if float(row @ now[index]) > -1e-7:
            return False
        kept = np.abs(row) > 1e-9
        self._solver.addRow(0.0, highspy.kHighsInf, int(kept.sum()), index[kept], row[kept])
        self._more.append((index[kept], row[kept]))
        return True

    def binding(self) -> list[int]:
        """Look up the numbers of the added rows that hold the value up, in the order they were added."""
        every = list(self._solver.getSolution().row_dual)
        duals = every[len(every) - len(self._more) :]
        return [number for number, dual in enumerate(duals) if dual > 1e-9]

    def value(self) -> float:
        """Solve the relaxation anew; minus infinity where it has no solution."""
        self._solver.run()
        if self._solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return -np.inf
        return float(self._solver.getInfo().objective_function_value)

    def shown(self) -> float:
        """Compute the bound that the last dual values prove, added up without the solver."""
        duals = np.array(self._solver.getSolution().row_dual, float)
        form = self._form.with_rows(self._more, 0.0, np.inf)
        return dual_bound(form, duals) if len(duals) == len(form.row_lower) else -np.inf


class Columns:
    """A programme with pools, whose columns are added as they are found."""

    def __init__(
        self,
        program: Program,
        objective: pulp.LpAffineExpression,
        rows: Mapping[str, pulp.LpConstraint],
        pools: Sequence[Pool],
    ) -> None:
        self.program, self.objective, self.pools = program, objective, tuple(pools)
        self.rows = rows
        self.columns: list[tuple[int, Column]] = []
        self.claim: Callable[[], Claim] | None = None
        self._known: set[tuple[int, Column]] = set()
        self._solver, self._integrality = _relaxed(program, objective, rows)
        self._owned = owned(program, rows, self.pools)
        self._first_row = self._link(len(rows))

    def _link(self, row: int) -> list[int]:
        """Add rows that tie each pool's units and items to its columns; give each pool's first row."""
        place = {variable: index for index, variable in enumerate(self.program.variables)}
        first = []
        infinite = highspy.kHighsInf
        for pool in self.pools:
            first.append(row)
            self._solver.addRow(0.0, infinite, 1, np.array([place[pool.on]], np.int32), np.ones(1))
            for alike in pool.place:
                index = np.array([place[variable] for variable in alike], np.int32)
                self._solver.addRow(-infinite, 0.0, len(index), index, np.ones(len(index)))
            row += 1 + len(pool.place)
        return first

    def add(self, pool: int, column: Sequence[int]) -> bool:
        """Add a column by the classes of its items in a pool; False when it is there already."""
        key = (pool, tuple(sorted(column)))
        if key in self._known or not key[1]:
            return False
        self._known.add(key)
        self.columns.append(key)
        classes, counts = np.unique(np.array(key[1]), return_counts=True)
        rows = np.concatenate([[0], classes + 1]) + self._first_row[pool]
        entries = -np.concatenate([[1.0], counts])
        self._solver.addCol(0.0, 0.0, highspy.kHighsInf, len(rows), rows.astype(np.int32), entries)
        return True

    def fix(self, columns: Sequence[int], taken: bool) -> None:
        """Take columns for good, or let them go again."""
        for column in columns:
            index = len(self.program.variables) + column
            self._solver.changeColBounds(index, 1.0 if taken else 0.0, highspy.kHighsInf)

    def relax(self) -> Relaxation | None:
        """Solve the relaxation over the columns there are; None where it has no solution."""
        self._solver.run()
        if self._solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        solution = self._solver.getSolution()
        duals, reduced = np.array(solution.row_dual), np.array(solution.col_dual)
        units, items = [], []
        for first, pool in zip(self._first_row, self.pools, strict=True):
            units.append(max(0.0, float(duals[first])))
            items.append(np.maximum(-duals[first + 1 : first + 1 + len(pool.place)], 0.0))
        used = np.array(solution.col_value)[len(self.program.variables) :]
        value = float(self._solver.getInfo().objective_function_value)
        priced = zip(self._owned, units, items, strict=True)
        whole = tuple(own.whole(unit, classes, reduced, duals) for own, unit, classes in priced)
        return Relaxation(value, tuple(units), tuple(items), used, whole)

    def solve_integer(
        self,
        limits: Limits,
        below: float,
        cancel: threading.Event | None = None,
        among: Collection[tuple[int, Column]] | None = None,
    ) -> tuple[Answer, list[tuple[int, Column]]]:
        """Solve in whole numbers for a value of at most ``below``; give the answer and the columns taken.

        ``among``: columns to which the answer keeps, all where it is None. ``claim`` then makes what a no
        claims.
        """
        model = self._solver.getLp()
        model.integrality_ = [*self._integrality, *([highspy.HighsVarType.kInteger] * len(self.columns))]
        if among is not None:
            kept = [np.inf if column in among else 0.0 for column in self.columns]
            model.col_upper_ = [*model.col_upper_[: len(self.program.variables)], *kept]
        self.claim = lambda: Claim(form_of_highs(model), below, limits.solver)
        began = time.monotonic()
        options = highs_options(replace(limits, below=below))
        answer, used, unexplored = self._run(model, options, cancel)
        left_s = limits.time_s - (time.monotonic() - began)
        if answer.ending is Ending.INFEASIBLE and unexplored and left_s > 0.0:
            options |= {
                "presolve": "off",
                "time_limit": min(left_s, CONFIRM_S),
                "mip_max_nodes": CONFIRM_NODES,
            }
            again, used, _ = self._run(model, options, cancel)
            answer = again if again.found else answer
        if not answer.found or answer.objective > below:
            refuted = answer.ending is Ending.PROVEN and answer.bound > below
            ended = Ending.INFEASIBLE if refuted or answer.ending is Ending.INFEASIBLE else Ending.EMPTY
            return Answer(ended, {}, np.inf, answer.bound, answer.seconds), []
        counted = zip(self.columns, used, strict=True)
        return answer, [column for column, share in counted for _ in range(round(share))]

    def _run(
        self, model: highspy.HighsLp, options: Mapping[str, object], cancel: threading.Event | None
    ) -> tuple[Answer, list[float], bool]:
        """Solve a model; give the answer, the use of columns, and whether presolve alone stands behind it."""
        began = time.monotonic()
        solver = SilentHighs()
        for option, value in options.items():
            solver.setOptionValue(option, value)
        solver.passModel(model)
        listen(solver, cancel, None, began)
        solver.run()
        answer = read_highs(solver, self.program.variables, self.objective, time.monotonic() - began)
        used = list(solver.getSolution().col_value)[len(self.program.variables) :]
        return answer, used, solver.getInfo().mip_node_count <= 0
