"""Run a programme and say in our own words how it ended.

The modelling layer's status word is not trusted: it calls a cancelled run without a solution optimal. HiGHS
is read by its own model status, CBC by whether a solution came and held; objectives are recomputed.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping

import highspy
import numpy as np
import pulp

from planner.solver.cbc import run_cbc
from planner.solver.highs import highs_options, run_highs
from planner.solver.program import Program
from planner.solver.silent import SilentHighs
from planner.solver.solution import Answer, Ending, Limits, Watch
from planner.solver.standard_form import form_of


def run(
    program: Program,
    objective: pulp.LpAffineExpression,
    limits: Limits,
    *,
    extra: Mapping[str, pulp.LpConstraint] | None = None,
    start: Mapping[str, float] | None = None,
    cancel: threading.Event | None = None,
    watch: Watch | None = None,
) -> Answer:
    """Minimise an objective over a programme's rows and some extra ones."""
    rows = {**program.rows, **(extra or {})}
    if limits.time_s <= 0.0 or (cancel is not None and cancel.is_set()):
        return Answer(Ending.EMPTY, {}, np.inf, -np.inf, 0.0)
    if limits.solver == "cbc":
        form = form_of(program.variables, objective, rows)
        return run_cbc(program.variables, objective, form, limits, cancel)
    return run_highs(program, objective, rows, limits, start, cancel, watch)


def relax(
    program: Program,
    objective: pulp.LpAffineExpression,
    limits: Limits,
    extra: Mapping[str, pulp.LpConstraint] | None = None,
) -> Answer:
    """Minimise with whole numbers let go: values may be fractions; the objective bounds every solution."""
    began = time.monotonic()
    solver = SilentHighs()
    for option, value in highs_options(limits).items():
        solver.setOptionValue(option, value)
    form = form_of(program.variables, objective, {**program.rows, **(extra or {})})
    solver.passModel(form.as_highs(relaxed=True))
    solver.run()
    seconds = time.monotonic() - began
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return Answer(Ending.EMPTY, {}, np.inf, -np.inf, seconds)
    found = solver.getSolution().col_value
    values = {v.name: float(value) for v, value in zip(program.variables, found, strict=True)}
    value = float(solver.getInfo().objective_function_value)
    return Answer(Ending.PROVEN, values, value, value, seconds)
