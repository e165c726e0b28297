"""An integer programme as arrays: costs, bounds, and rows in compressed form (compressed sparse row)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import highspy
import numpy as np
import pulp
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Places = NDArray[np.int32]


@dataclass(frozen=True)
class StandardForm:
    """Minimise ``cost·x + offset`` over ``lower <= x <= upper`` and ``row_lower <= A x <= row_upper``.

    ``cost``, ``lower``, ``upper`` and ``whole`` (which are whole numbers) are (columns,), ``row_lower`` and
    ``row_upper`` (rows,). Row i of A has the coefficients ``factors[starts[i]:starts[i + 1]]`` at the columns
    ``places[starts[i]:starts[i + 1]]``. Bounds may be infinite.
    """

    cost: Floats
    offset: float
    lower: Floats
    upper: Floats
    whole: NDArray[np.bool_]
    starts: Places
    places: Places
    factors: Floats
    row_lower: Floats
    row_upper: Floats

    @property
    def size(self) -> int:
        """How many coefficients the rows have."""
        return len(self.factors)

    def rows_at(self, point: Floats) -> Floats:
        """Compute what each row adds up to at a point, (columns,); the result is (rows,)."""
        filled = np.add.reduceat(
            np.append(self.factors * point[self.places], 0.0), np.minimum(self.starts[:-1], self.size)
        )
        return np.where(np.diff(self.starts) > 0, filled, 0.0)

    def priced(self, duals: Floats) -> Floats:
        """Compute the sum of rows times dual values, (rows,), column by column; the result is (columns,)."""
        by_entry = np.repeat(duals, np.diff(self.starts)) * self.factors
        return np.bincount(self.places, weights=by_entry, minlength=len(self.cost)).astype(np.float64)

    def value_at(self, point: Floats) -> float:
        """Compute the objective at a point."""
        return float(self.cost @ point) + self.offset

    def at_most(self, value: float) -> StandardForm:
        """Make the form whose points are worth at most ``value``, by one more row."""
        used = np.flatnonzero(self.cost).astype(np.int32)
        return self.with_rows([(used, self.cost[used])], -np.inf, value - self.offset)

    def with_rows(self, rows: Sequence[tuple[Places, Floats]], lower: float, upper: float) -> StandardForm:
        """Make the form with more rows, each by its columns and coefficients, all within the same sides."""
        ends = self.size + np.cumsum([len(places) for places, _ in rows], dtype=np.int64)
        return replace(
            self,
            starts=np.concatenate([self.starts, ends]).astype(np.int32),
            places=np.concatenate([self.places, *(places for places, _ in rows)]).astype(np.int32),
            factors=np.concatenate([self.factors, *(factors for _, factors in rows)]),
            row_lower=np.append(self.row_lower, np.full(len(rows), lower)),
            row_upper=np.append(self.row_upper, np.full(len(rows), upper)),
        )

    def as_highs(self, *, relaxed: bool = False) -> highspy.HighsLp:
        """Make the model that HiGHS takes; ``relaxed``: with whole numbers let go."""
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(self.cost), len(self.row_lower)
        model.col_cost_, model.offset_ = self.cost, self.offset
        model.col_lower_, model.col_upper_ = self.lower, self.upper
        model.row_lower_, model.row_upper_ = self.row_lower, self.row_upper
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_, model.a_matrix_.index_ = self.starts, self.places
        model.a_matrix_.value_ = self.factors
        if not relaxed:
            whole, real = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
            model.integrality_ = [whole if is_whole else real for is_whole in self.whole]
        return model


def form_of(
    variables: list[pulp.LpVariable],
    objective: pulp.LpAffineExpression,
    rows: Mapping[str, pulp.LpConstraint],
) -> StandardForm:
    """Make the arrays of a programme's variables, an objective to minimise, and rows."""
    column = {variable: index for index, variable in enumerate(variables)}
    cost = np.zeros(len(variables))
    for variable, coefficient in objective.items():
        cost[column[variable]] = coefficient
    starts, places, factors = [0], list[int](), list[float]()
    lower, upper = list[float](), list[float]()
    for row in rows.values():
        for variable, coefficient in row.items():
            places.append(column[variable])
            factors.append(coefficient)
        starts.append(len(places))
        lower.append(-np.inf if row.sense == pulp.LpConstraintLE else -row.constant)
        upper.append(np.inf if row.sense == pulp.LpConstraintGE else -row.constant)
    return StandardForm(
        cost,
        float(objective.constant),
        np.array([-np.inf if v.lowBound is None else v.lowBound for v in variables], float),
        np.array([np.inf if v.upBound is None else v.upBound for v in variables], float),
        np.array([v.cat == pulp.LpInteger for v in variables], bool),
        np.array(starts, np.int32),
        np.array(places, np.int32),
        np.array(factors, float),
        np.array(lower, float),
        np.array(upper, float),
    )


def form_of_highs(model: highspy.HighsLp) -> StandardForm:
    """Make the arrays of a model that HiGHS holds, its matrix by rows or by columns."""
    matrix, columns, rows = model.a_matrix_, model.num_col_, model.num_row_
    starts = np.array(matrix.start_, np.int32)
    places, factors = np.array(matrix.index_, np.int32), np.array(matrix.value_, float)
    if matrix.format_ == highspy.MatrixFormat.kColwise:
        owners = np.repeat(np.arange(columns, dtype=np.int32), np.diff(starts))
        order = np.argsort(places, kind="stable")
        counts = np.bincount(places, minlength=rows)
        starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)
        places, factors = owners[order], factors[order]
    whole = [kind == highspy.HighsVarType.kInteger for kind in model.integrality_]
    return StandardForm(
        np.array(model.col_cost_, float),
        float(model.offset_),
        np.array(model.col_lower_, float),
        np.array(model.col_upper_, float),
        np.array(whole, bool) if whole else np.zeros(columns, bool),
        starts,
        places,
        factors,
        np.array(model.row_lower_, float),
        np.array(model.row_upper_, float),
    )
