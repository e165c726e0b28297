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
from planner.placement.formulation.preflight import preflight
from planner.placement.formulation.problem import TooManyVariantsError
from planner.placement.infeasibility.elastic import repairs
from planner.placement.infeasibility.failover_shortfall import spare_reasons
from planner.placement.optimise.chance_constraint import asks_for_confidence, solve_surely
from planner.placement.optimise.incumbent import LARGE_GAP
from planner.placement.optimise.lexicographic import Pursuit
from planner.placement.optimise.outcome import conclude, noted, refuse_rejected, so_far
from planner.placement.optimise.proofs import SUMS
from planner.placement.optimise.watchdog import attended
from planner.placement.result import Options, Progress, Result
from planner.solver import Limits

OVERRUN_S, OVERRUN = 5.0, 0.05
"""Seconds, and share of the time given, after which a solve that has not looked at the clock is left."""


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
        return _solve(site, options, cancel, watch, began)

    def plainly(tighter: Site, again: Options) -> Result:
        return _solve(tighter, again, cancel, watch, time.monotonic())

    result = solve_surely(site, options, plainly)
    if result.plan is not None:
        refuse_rejected(site, result.plan)
    return replace(result, seconds=time.monotonic() - began)


def _solve(
    site: Site,
    options: Options,
    cancel: threading.Event | None,
    watch: Callable[[Progress], None] | None,
    began: float,
) -> Result:
    reasons = preflight(site)
    if reasons:
        return Result(Outcome.INFEASIBLE, None, reasons, time.monotonic() - began, SUMS)
    bounds: dict[Aim, float] = {}
    pursuit = _pursuit(site, options, cancel, watch, began, bounds)
    aims = options.aims or site.policy.aims
    results: list[AimResult] = []

    def pursue() -> None:
        pursuit.set_out()
        pursuit.through(aims, results)

    ended = False
    try:
        patience_s = max(OVERRUN_S, OVERRUN * options.time_s)
        ended = attended(pursue, cancel, began + options.time_s + patience_s)
    except TooManyVariantsError as error:
        return Result(Outcome.FAILED, None, (str(error),), time.monotonic() - began)
    except MemoryError:
        pursuit.failure = "lack of memory"
    best = pursuit.best
    if best is None:
        return _without_plan(pursuit, time.monotonic() - began, ended)
    answered = tuple(results)
    waiting = so_far(site, best, aims[len(answered) :], bounds, options.previous)
    final = (*_as_of(pursuit, best, answered), *waiting)
    result = conclude(
        site, best, final, options, _stopped_by(pursuit, final, ended), time.monotonic() - began
    )
    return noted(result, tuple(pursuit.contradictions))


def _as_of(pursuit: Pursuit, best: State, answered: Sequence[AimResult]) -> Iterator[AimResult]:
    """Give results with the values of the last state: a later aim may end better on an earlier one."""
    for result in answered:
        value = pursuit.value(result.aim, best)
        yield replace(result, value=value, bound=min(result.bound, value))


def _pursuit(
    site: Site,
    options: Options,
    cancel: threading.Event | None,
    watch: Callable[[Progress], None] | None,
    began: float,
    bounds: dict[Aim, float],
) -> Pursuit:
    """Give a solve to be done, which tells its watcher how it goes and sets its bounds down."""
    limits = Limits(
        time_s=options.time_s - (time.monotonic() - began),
        relative_gap=options.gap,
        seed=options.seed,
        solver=options.solver,
    )

    last: list[tuple[Aim, float | None, float | None]] = []

    def tell(aim: Aim, best: float | None, bound: float | None, state: State | None) -> None:
        if bound is not None:
            bounds[aim] = max(bound, bounds.get(aim, bound))
        if watch is None or (state is None and last == [(aim, best, bounds.get(aim))]):
            return
        last[:] = [(aim, best, bounds.get(aim))]
        watch(Progress(aim, best, bounds.get(aim), time.monotonic() - began, state))

    return Pursuit(site, limits, cancel, tell, options.start, options.fixed, options.previous)


def _without_plan(pursuit: Pursuit, seconds: float, ended: bool) -> Result:
    if not ended or not pursuit.infeasible:
        return Result(Outcome.FAILED if pursuit.failure else Outcome.STOPPED_EMPTY, None, (), seconds)
    model, limits, cancel = pursuit.model, pursuit.limits, pursuit.cancel
    found = (*spare_reasons(model, limits, cancel), *repairs(model, limits, cancel))
    reasons = ("the limits and rules together leave no plan", *found)
    said = tuple(pursuit.contradictions)
    return Result(Outcome.INFEASIBLE, None, reasons, seconds, pursuit.no_plan_shown_by, said)


def _stopped_by(pursuit: Pursuit, results: Sequence[AimResult], ended: bool) -> str:
    near = all(result.gap <= LARGE_GAP * abs(result.value) for result in results)
    called_off = pursuit.cancel is not None and pursuit.cancel.is_set()
    if near and not called_off and not pursuit.failure:
        return f"a gap of under {100.0 * LARGE_GAP:.2f} %, small enough for so many services"
    left_behind = not ended and not called_off and not pursuit.failure
    return "time limit" if left_behind else pursuit.stopped_by()
