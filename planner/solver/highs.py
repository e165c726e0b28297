"""Programmes run by HiGHS, whose own model status says how a run ended.

Why so: HiGHS does not start over at the root (``mip_allow_restart``), which cost a third of the time on
sites of 40 to 100 services. It keeps its default tolerances, and an 'infeasible' gets a second look without
presolve.

Tried and left: tighter tolerances, which made it call feasible programmes infeasible (``test_engine.py``).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping
from dataclasses import replace

import highspy
import numpy as np
import pulp

from planner.solver.program import Program
from planner.solver.silent import SilentHighs
from planner.solver.solution import Answer, Ending, Limits, Watch, rounded, value_of
from planner.solver.standard_form import form_of

THREADS = 1
"""All HiGHS objects of a process must use the same number, or a run ends before it starts."""


ODD_SHARE = 1e-5
"""By what share value and bound of an answer that is called optimal may differ beside the gap asked for."""

CONFIRM_S, CONFIRM_NODES = 1.0, 20
"""Seconds and nodes given to a second look at what presolve alone calls infeasible."""


def run_highs(
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
    """Run HiGHS once; give its answer, and whether it is doubtful.

    HiGHS 1.15.1 has called programmes with solutions infeasible in presolve; with a start at hand it then
    says optimal, without a bound; and it has ended in an error where without presolve it has an answer.
    1.16.0 calls a start optimal with the value of another point.
    """
    solver = SilentHighs()
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
    refused = answer.ending is Ending.INFEASIBLE and unexplored
    return answer, _is_odd(answer, limits) or refused or answer.ending is Ending.FAILED


def _is_odd(answer: Answer, limits: Limits) -> bool:
    """Say whether an answer is called optimal without a bound, or with one that is not its value."""
    if answer.ending is not Ending.PROVEN:
        return False
    share = max(limits.relative_gap, ODD_SHARE) * abs(answer.objective)
    return not answer.objective - answer.bound <= limits.absolute_gap + share + ODD_SHARE


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
        "presolve": "choose" if limits.presolve else "off",
        "mip_max_nodes": highspy.kHighsIInf if limits.nodes is None else limits.nodes,
        "objective_target": -np.inf if limits.target is None else limits.target,
        "objective_bound": np.inf if limits.below is None else limits.below,
    }


def as_highs(
    variables: list[pulp.LpVariable],
    objective: pulp.LpAffineExpression,
    rows: Mapping[str, pulp.LpConstraint],
) -> highspy.HighsLp:
    return form_of(variables, objective, rows).as_highs()


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
    values = rounded(variables, solver.getSolution().col_value[: len(variables)])
    return Answer(ending, values, value_of(objective, values), bound, seconds)
