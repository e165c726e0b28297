"""Run a programme and say in our own words how it ended.

The modelling layer's status word is not trusted: it calls a cancelled run without a solution optimal. HiGHS
is read by its own model status, CBC by whether a solution came and held; objectives are recomputed.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

import highspy
import numpy as np
import pulp

from planner.milp.program import Program

THREADS = 1
"""All HiGHS objects of a process must use the same number, or a run ends before it starts."""


CONFIRM_S, CONFIRM_NODES = 1.0, 20
"""Seconds and nodes given to a second look at what presolve alone calls infeasible."""


class Ending(StrEnum):
    """How a run ended."""

    PROVEN = "proven"
    STOPPED = "stopped with a solution"
    EMPTY = "stopped without a solution"
    INFEASIBLE = "infeasible"
    FAILED = "failed"


@dataclass(frozen=True)
class Limits:
    """When a run stops: seconds, gaps, or a solution as good as ``target``; ``seed`` makes it repeatable.

    ``below``: what solutions are to be worth at most; others need not be found.
    """

    time_s: float = 60.0
    relative_gap: float = 0.0
    absolute_gap: float = 1e-6
    seed: int = 0
    solver: str = "highs"
    target: float | None = None
    below: float | None = None


@dataclass(frozen=True)
class Answer:
    """What a run gave: values by variable name (whole numbers rounded), objective, bound."""

    ending: Ending
    values: Mapping[str, float]
    objective: float
    bound: float
    seconds: float

    @property
    def found(self) -> bool:
        """True when there is a solution."""
        return self.ending in (Ending.PROVEN, Ending.STOPPED)


Watch = Callable[[float, float, float], None]
"""Called with best, bound and seconds while a run goes on."""


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
        return _run_cbc(program, objective, rows, limits)
    return _run_highs(program, objective, rows, limits, start, cancel, watch)


def relax(
    program: Program,
    objective: pulp.LpAffineExpression,
    limits: Limits,
    extra: Mapping[str, pulp.LpConstraint] | None = None,
) -> Answer:
    """Minimise with whole numbers let go: values may be fractions; the objective bounds every solution."""
    began = time.monotonic()
    solver = highspy.Highs()
    for option, value in highs_options(limits).items():
        solver.setOptionValue(option, value)
    model = as_highs(program.variables, objective, {**program.rows, **(extra or {})})
    model.integrality_ = []
    solver.passModel(model)
    solver.run()
    seconds = time.monotonic() - began
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return Answer(Ending.EMPTY, {}, np.inf, -np.inf, seconds)
    found = solver.getSolution().col_value
    values = {v.name: float(value) for v, value in zip(program.variables, found, strict=True)}
    value = float(solver.getInfo().objective_function_value)
    return Answer(Ending.PROVEN, values, value, value, seconds)


def _run_highs(
    program: Program,
    objective: pulp.LpAffineExpression,
    rows: Mapping[str, pulp.LpConstraint],
    limits: Limits,
    start: Mapping[str, float] | None,
    cancel: threading.Event | None,
    watch: Watch | None,
) -> Answer:
    """Run HiGHS, and once more without its presolve where what it says cannot be taken at its word."""
    began = time.monotonic()
    answer, doubtful = _run_once(program, objective, rows, limits, start, cancel, watch, began)
    left_s = limits.time_s - (time.monotonic() - began)
    if not doubtful or left_s <= 0.0:
        return answer
    other: dict[str, object] = {"presolve": "off"}
    if answer.ending is Ending.INFEASIBLE:
        left_s, other["mip_max_nodes"] = min(left_s, CONFIRM_S), CONFIRM_NODES
    limits = replace(limits, time_s=left_s)
    again, _ = _run_once(program, objective, rows, limits, start, cancel, watch, began, other)
    if answer.ending is Ending.INFEASIBLE and not again.found:
        return answer
    return again


def _run_once(
    program: Program,
    objective: pulp.LpAffineExpression,
    rows: Mapping[str, pulp.LpConstraint],
    limits: Limits,
    start: Mapping[str, float] | None,
    cancel: threading.Event | None,
    watch: Watch | None,
    began: float,
    other: Mapping[str, object] | None = None,
) -> tuple[Answer, bool]:
    """Run HiGHS once; give its answer, and whether presolve alone stands behind it.

    HiGHS 1.15.1 has called programmes with solutions infeasible in presolve; with a start at hand it then
    says optimal, without a bound.
    """
    solver = highspy.Highs()
    for option, value in {**highs_options(limits), **(other or {})}.items():
        solver.setOptionValue(option, value)
    solver.passModel(as_highs(program.variables, objective, rows))
    if start is not None:
        _give_start(solver, program.variables, start)
    listen(solver, cancel, watch, began)
    solver.run()
    answer = read_highs(solver, program.variables, objective, time.monotonic() - began)
    unexplored = solver.getInfo().mip_node_count <= 0
    solver.clear()
    no_bound = answer.ending is Ending.PROVEN and not np.isfinite(answer.bound)
    return answer, no_bound or (answer.ending is Ending.INFEASIBLE and unexplored)


def highs_options(limits: Limits) -> dict[str, object]:
    # Tolerances stay at their defaults: tighter ones made HiGHS 1.15 call a perfect packing infeasible.
    # Starting over at the root cost a third of the time on sites of 40 to 100 services, and won nothing.
    return {
        "output_flag": False,
        "threads": THREADS,
        "random_seed": limits.seed,
        "time_limit": limits.time_s,
        "mip_rel_gap": limits.relative_gap,
        "mip_abs_gap": limits.absolute_gap,
        "mip_allow_restart": False,
        "objective_target": -np.inf if limits.target is None else limits.target,
        "objective_bound": np.inf if limits.below is None else limits.below,
    }


def as_highs(
    variables: list[pulp.LpVariable],
    objective: pulp.LpAffineExpression,
    rows: Mapping[str, pulp.LpConstraint],
) -> highspy.HighsLp:
    column = {variable: index for index, variable in enumerate(variables)}
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(variables), len(rows)
    cost = np.zeros(len(variables))
    for variable, coefficient in objective.items():
        cost[column[variable]] = coefficient
    model.col_cost_ = cost
    model.offset_ = objective.constant
    infinite = highspy.kHighsInf
    model.col_lower_ = np.array([-infinite if v.lowBound is None else v.lowBound for v in variables], float)
    model.col_upper_ = np.array([infinite if v.upBound is None else v.upBound for v in variables], float)
    whole, real = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
    model.integrality_ = [whole if v.cat == pulp.LpInteger else real for v in variables]
    starts, indices, values, lower, upper = [0], [], [], [], []
    for row in rows.values():
        for variable, coefficient in row.items():
            indices.append(column[variable])
            values.append(coefficient)
        starts.append(len(indices))
        lower.append(-infinite if row.sense == pulp.LpConstraintLE else -row.constant)
        upper.append(infinite if row.sense == pulp.LpConstraintGE else -row.constant)
    model.row_lower_, model.row_upper_ = np.array(lower, float), np.array(upper, float)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.array(starts, np.int32)
    model.a_matrix_.index_ = np.array(indices, np.int32)
    model.a_matrix_.value_ = np.array(values, float)
    return model


def _give_start(solver: highspy.Highs, variables: list[pulp.LpVariable], start: Mapping[str, float]) -> None:
    """Hand a solution over; values for some variables are enough, HiGHS completes them."""
    known = [(index, start[v.name]) for index, v in enumerate(variables) if v.name in start]
    if known:
        columns, values = zip(*known, strict=True)
        solver.setSolution(len(known), np.array(columns, np.int32), np.array(values, float))


def listen(solver: highspy.Highs, cancel: threading.Event | None, watch: Watch | None, began: float) -> None:
    """Take the cancel, and tell where the run stands, from the callback that asks whether to go on."""

    def stop(event: highspy.highs.HighsCallbackEvent) -> None:
        if cancel is not None and cancel.is_set():
            event.interrupt()

    def stop_and_tell(event: highspy.highs.HighsCallbackEvent) -> None:
        stop(event)
        if watch is not None:
            out = event.data_out
            watch(out.mip_primal_bound, out.mip_dual_bound, time.monotonic() - began)

    solver.cbMipInterrupt += stop_and_tell
    solver.cbSimplexInterrupt += stop
    solver.cbIpmInterrupt += stop


def read_highs(
    solver: highspy.Highs,
    variables: list[pulp.LpVariable],
    objective: pulp.LpAffineExpression,
    seconds: float,
) -> Answer:
    status, info = solver.getModelStatus(), solver.getInfo()
    kinds = highspy.HighsModelStatus
    if status in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible):
        return Answer(Ending.INFEASIBLE, {}, np.inf, np.inf, seconds)
    has_point = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    is_mip = any(variable.cat == pulp.LpInteger for variable in variables)
    if status == kinds.kOptimal and has_point:
        ending = Ending.PROVEN
    elif status in (kinds.kTimeLimit, kinds.kInterrupt, kinds.kSolutionLimit, kinds.kObjectiveTarget):
        ending = Ending.STOPPED if has_point else Ending.EMPTY
    else:
        return Answer(Ending.FAILED, {}, np.inf, -np.inf, seconds)
    bound = float(info.mip_dual_bound) if is_mip else float(info.objective_function_value)
    if not has_point:
        return Answer(ending, {}, np.inf, bound, seconds)
    values = _rounded(variables, solver.getSolution().col_value[: len(variables)])
    return Answer(ending, values, _value(objective, values), bound, seconds)


def _rounded(variables: list[pulp.LpVariable], found: list[float]) -> dict[str, float]:
    return {
        v.name: float(round(value)) if v.cat == pulp.LpInteger else float(value)
        for v, value in zip(variables, found, strict=True)
    }


def _value(objective: pulp.LpAffineExpression, values: Mapping[str, float]) -> float:
    return float(objective.constant + sum(c * values[v.name] for v, c in objective.items()))


def _run_cbc(
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
    values = _rounded(program.variables, known)
    objective_value = _value(objective, values)
    ended = Ending.PROVEN if optimal and seconds < limits.time_s else Ending.STOPPED
    return Answer(ended, values, objective_value, objective_value if optimal else -np.inf, seconds)
