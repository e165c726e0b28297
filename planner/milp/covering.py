"""Covering by columns: the linear programme that grows by columns, and the whole-number one over many."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np

from planner.milp.engine import THREADS, Limits

Column = tuple[int, ...]


@dataclass(frozen=True)
class Relaxed:
    """A solved relaxation: its value, a price for each row, and how much each column is used."""

    value: float
    prices: np.ndarray[tuple[int], np.dtype[np.float64]]
    used: np.ndarray[tuple[int], np.dtype[np.float64]]


class Covering:
    """The least number of columns so that every row is covered, as a linear programme that may grow."""

    def __init__(self, rows: int) -> None:
        self.rows = rows
        self.columns: list[Column] = []
        self._known: set[Column] = set()
        self._solver = highspy.Highs()
        self._solver.setOptionValue("output_flag", False)
        self._solver.setOptionValue("threads", THREADS)
        for _ in range(rows):
            self._solver.addRow(1.0, highspy.kHighsInf, 0, np.array([], np.int32), np.array([], float))

    def add(self, column: Sequence[int]) -> bool:
        """Add a column by the rows it covers; False when it is there already."""
        key = tuple(sorted(column))
        if key in self._known or not key:
            return False
        self._known.add(key)
        self.columns.append(key)
        index = np.array(key, np.int32)
        self._solver.addCol(1.0, 0.0, highspy.kHighsInf, len(key), index, np.ones(len(key)))
        return True

    def relax(self) -> Relaxed:
        """Solve the relaxation over the columns there are; ValueError where some row has no column."""
        self._solver.run()
        if self._solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise ValueError("some row has no column")
        solution = self._solver.getSolution()
        prices = np.maximum(np.array(solution.row_dual), 0.0)
        value = float(self._solver.getInfo().objective_function_value)
        return Relaxed(value, prices, np.array(solution.col_value))


def cover(
    rows: int, columns: Sequence[Column], most: int, limits: Limits, cancel: threading.Event | None = None
) -> tuple[tuple[Column, ...] | None, bool]:
    """Give at most ``most`` columns that cover every row, and whether a 'none' is proven."""
    solver = highspy.Highs()
    options: dict[str, object] = {
        "output_flag": False,
        "threads": THREADS,
        "random_seed": limits.seed,
        "time_limit": max(0.05, limits.time_s),
        "objective_bound": most + 0.5,
        "mip_abs_gap": 0.99,
    }
    for option, value in options.items():
        solver.setOptionValue(option, value)
    solver.passModel(_program(rows, columns, most))
    if cancel is not None:

        def stop(event: highspy.highs.HighsCallbackEvent) -> None:
            if cancel.is_set():
                event.interrupt()

        solver.cbMipInterrupt += stop
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None, True
    has_point = solver.getInfo().primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    if not has_point:
        return None, False
    values = solver.getSolution().col_value
    return tuple(column for column, value in zip(columns, values, strict=True) if value > 0.5), False


def _program(rows: int, columns: Sequence[Column], most: int) -> highspy.HighsLp:
    """Write the covering programme with a last row that limits the number of columns; any answer will do."""
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(columns), rows + 1
    model.col_cost_ = np.ones(len(columns))
    model.col_lower_, model.col_upper_ = np.zeros(len(columns)), np.ones(len(columns))
    model.integrality_ = [highspy.HighsVarType.kInteger] * len(columns)
    model.row_lower_ = np.array([1.0] * rows + [0.0])
    model.row_upper_ = np.array([highspy.kHighsInf] * rows + [float(most)])
    entries = [(*column, rows) for column in columns]
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = np.cumsum([0, *(len(entry) for entry in entries)]).astype(np.int32)
    model.a_matrix_.index_ = np.array([row for entry in entries for row in entry], np.int32)
    model.a_matrix_.value_ = np.ones(len(model.a_matrix_.index_))
    return model
