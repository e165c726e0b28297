"""Programmes run by CBC, whose status word counts only beside a solution that came and held."""

from __future__ import annotations

import time
from collections.abc import Mapping

import numpy as np
import pulp

from planner.milp.answers import Answer, Ending, Limits, rounded, value_of
from planner.milp.program import Program


def run_cbc(
    program: Program,
    objective: pulp.LpAffineExpression,
    rows: Mapping[str, pulp.LpConstraint],
    limits: Limits,
) -> Answer:
    began = time.monotonic()
    problem = pulp.LpProblem("stillroom", pulp.LpMinimize)
    problem += objective.copy()
    for index, row in enumerate(rows.values()):
        problem.addConstraint(row.copy(), f"r{index}")
    solver = pulp.COIN_CMD(
        path=pulp.PULP_CBC_CMD.pulp_cbc_path,
        msg=False,
        timeLimit=limits.time_s,
        gapRel=limits.relative_gap,
        gapAbs=limits.absolute_gap,
        options=[f"randomCbcSeed {limits.seed}"],
    )
    try:
        problem.solve(solver)
    except pulp.PulpSolverError:  # its process ended without an answer
        return Answer(Ending.FAILED, {}, np.inf, -np.inf, time.monotonic() - began)
    seconds = time.monotonic() - began
    optimal = problem.status == pulp.LpStatusOptimal and problem.sol_status == pulp.LpSolutionOptimal
    if problem.status == pulp.LpStatusInfeasible and seconds < limits.time_s:
        return Answer(Ending.INFEASIBLE, {}, np.inf, np.inf, seconds)
    point = [v.varValue for v in program.variables]
    known = [0.0 if value is None else value for value in point]
    has_point = problem.sol_status in (pulp.LpSolutionOptimal, pulp.LpSolutionIntegerFeasible)
    if not has_point:
        return Answer(Ending.EMPTY, {}, np.inf, -np.inf, seconds)
    values = rounded(program.variables, known)
    objective_value = value_of(objective, values)
    ended = Ending.PROVEN if optimal and seconds < limits.time_s else Ending.STOPPED
    return Answer(ended, values, objective_value, objective_value if optimal else -np.inf, seconds)
