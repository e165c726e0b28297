"""The one door to the planning model."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from planner.domain.plan import AimResult, Outcome
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.failover.restart import planned_restarts
from planner.placement.infeasibility.failover_shortfall import shortfalls_and_repairs
from planner.placement.infeasibility.preflight import preflight
from planner.placement.optimise.budget import Budget
from planner.placement.optimise.chance_constraint import asks_for_confidence, solve_chance_constrained
from planner.placement.optimise.context import Context, context_of, prepare
from planner.placement.optimise.incumbent import Incumbent, Tell
from planner.placement.optimise.lexicographic import Lexicographic
from planner.placement.optimise.outcome import finalise, results_so_far, with_contradictions
from planner.placement.optimise.proofs import SUMS
from planner.placement.params import PARAMS
from planner.placement.result import Options, Progress, Result, TooManyVariantsError, refuse_rejected
from planner.solver import Limits


def solve(
    site: Site,
    options: Options | None = None,
    *,
    cancel: threading.Event | None = None,
    watch: Callable[[Progress], None] | None = None,
) -> Result:
    """Plan a site: aims in order, each held while the next improves; every plan has passed the judge.

    Targets with a confidence are held so surely. Raises RejectedPlanError when the judge rejects what the
    solver found.
    """
    options, began = options or Options(), time.monotonic()
    if not asks_for_confidence(site):
        return _with_restarts(site, _solve(site, options, cancel, watch, began), cancel)

    def plainly(tighter: Site, again: Options) -> Result:
        return _solve(tighter, again, cancel, watch, time.monotonic())

    result = solve_chance_constrained(site, options, plainly)
    if result.plan is not None:
        refuse_rejected(site, result.plan)
    return replace(_with_restarts(site, result, cancel), seconds=time.monotonic() - began)


def _with_restarts(site: Site, result: Result, cancel: threading.Event | None) -> Result:
    if result.plan is None:
        return result
    restarts = planned_restarts(site, result.plan.state, cancel=cancel)
    return replace(result, plan=replace(result.plan, restarts=restarts))


def _solve(
    site: Site,
    options: Options,
    cancel: threading.Event | None,
    watch: Callable[[Progress], None] | None,
    began: float,
) -> Result:
    conflicts = preflight(site)
    if conflicts:
        return Result(Outcome.INFEASIBLE, None, conflicts, time.monotonic() - began, SUMS)
    bounds: dict[Aim, float] = {}
    context = _context(site, options, cancel, _teller(watch, began, bounds), began)
    aims = options.aims or site.policy.aims
    results: list[AimResult] = []

    try:
        prepare(context, wants_first_plan=options.fixed is None)
        Lexicographic(context).solve(aims, results)
    except TooManyVariantsError as error:
        return Result(Outcome.FAILED, None, (error.conflict,), time.monotonic() - began)
    except MemoryError:
        context.budget.failure = "lack of memory"
    best = context.incumbent.best
    if best is None:
        return _without_plan(context, aims[0], watch, began)
    answered = tuple(results)
    waiting = results_so_far(site, best, aims[len(answered) :], bounds, options.previous)
    final = (*_as_of(context.incumbent, best, answered), *waiting)
    stopped_by = _stopped_by(context.budget, final)
    result = finalise(site, best, final, options, stopped_by, time.monotonic() - began)
    return with_contradictions(result, tuple(context.contradictions))


def _as_of(incumbent: Incumbent, best: State, answered: Sequence[AimResult]) -> Iterator[AimResult]:
    """Compute results with the values of the last state: a later aim may end better on an earlier one."""
    for result in answered:
        value = incumbent.value(result.aim, best)
        yield replace(result, value=value, bound=min(result.bound, value))


def _context(
    site: Site, options: Options, cancel: threading.Event | None, tell: Tell, began: float
) -> Context:
    limits = Limits(
        time_s=options.time_s - (time.monotonic() - began),
        relative_gap=options.gap,
        seed=options.seed,
        solver=options.solver,
    )
    return context_of(
        site,
        limits,
        cancel,
        tell=tell,
        start=options.start,
        fixed=options.fixed,
        previous=options.previous,
    )


def _teller(watch: Callable[[Progress], None] | None, began: float, bounds: dict[Aim, float]) -> Tell:
    """Make what tells the watcher how a solve goes and sets its bounds down."""
    last: list[tuple[Aim, float | None, float | None]] = []

    def tell(aim: Aim, best: float | None, bound: float | None, state: State | None) -> None:
        if bound is not None:
            bounds[aim] = max(bound, bounds.get(aim, bound))
        if watch is None or (state is None and last == [(aim, best, bounds.get(aim))]):
            return
        last[:] = [(aim, best, bounds.get(aim))]
        watch(Progress(aim, best, bounds.get(aim), time.monotonic() - began, state))

    return tell


def _without_plan(
    context: Context, aim: Aim, watch: Callable[[Progress], None] | None, began: float
) -> Result:
    budget, shown_by = context.budget, context.no_plan_shown_by
    if not context.infeasible:
        outcome = Outcome.FAILED if budget.failure else Outcome.STOPPED_EMPTY
        return Result(outcome, None, (), time.monotonic() - began)
    model, limits, cancel = context.formulation.model, budget.limits, budget.cancel
    if watch is not None:
        watch(Progress(aim, None, None, time.monotonic() - began, ruled_out_by=shown_by))
    conflicts = shortfalls_and_repairs(model, limits, cancel)
    seconds, said = time.monotonic() - began, tuple(context.contradictions)
    return Result(Outcome.INFEASIBLE, None, conflicts, seconds, shown_by, said)


def _stopped_by(budget: Budget, results: Sequence[AimResult]) -> str:
    near = all(result.gap <= PARAMS.budget.large_gap * abs(result.value) for result in results)
    goes_on = not budget.is_cancelled and not budget.failure
    if near and goes_on:
        return f"a gap of under {100.0 * PARAMS.budget.large_gap:.2f} %, small enough for so many services"
    return budget.stopped_by()
