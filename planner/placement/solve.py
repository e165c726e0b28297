"""The one door to the planning model."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from planner.milp import Limits
from planner.placement.attended import attended
from planner.placement.preflight import preflight
from planner.placement.problem import TooManyVariantsError
from planner.placement.pursuit import Pursuit
from planner.placement.repair import repairs
from planner.placement.spare_reasons import spare_reasons
from planner.placement.sure import asks_for_confidence, solve_surely
from planner.plan import AimResult, Outcome, Plan
from planner.site import Aim, Site
from planner.state import State
from planner.verify import verify_plan

OVERRUN_S, OVERRUN = 5.0, 0.05
"""Seconds, and share of the time given, after which a solve that has not looked at the clock is left."""


@dataclass(frozen=True)
class Options:
    """How to solve: seconds for all aims together, seed, solver ('highs' or 'cbc'), relative gap asked.

    ``aims`` overrides the site's order. ``start`` is a state to start from, ``fixed`` one whose
    services must stay on the machines it gives them. ``previous``: an earlier plan's state, from which
    changes are counted instead of from today.
    """

    time_s: float = 60.0
    seed: int = 0
    solver: str = "highs"
    gap: float = 0.0
    aims: tuple[Aim, ...] | None = None
    start: State | None = None
    fixed: State | None = None
    previous: State | None = None


@dataclass(frozen=True)
class Progress:
    """Where a running solve stands: the aim in hand, its best value and bound, seconds since the start.

    ``checked``: the value is that of a plan that the judge has passed, not of pools yet to be packed.
    """

    aim: Aim
    best: float | None
    bound: float | None
    seconds: float
    checked: bool = False


@dataclass(frozen=True)
class Result:
    """What a solve gave: a checked plan or none, how it ended, and, where no plan can exist, why."""

    outcome: Outcome
    plan: Plan | None
    reasons: tuple[str, ...] = ()
    seconds: float = 0.0


class RejectedPlanError(AssertionError):
    """The judge rejects a plan that the model made: a bug of ours, never shown as a plan."""


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
        _refuse_rejected(site, result.plan)
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
        return Result(Outcome.INFEASIBLE, None, reasons, time.monotonic() - began)
    pursuit, aims = _pursuit(site, options, cancel, watch, began), options.aims or site.policy.aims
    results: list[AimResult] = []

    def pursue() -> None:
        pursuit.set_out()
        for aim in aims:
            results.append(pursuit.pursue(aim))
            if pursuit.best is None:
                break

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
    unanswered = (AimResult(aim, math.inf, 0.0, False) for aim in aims[len(answered) :])
    return _conclude(pursuit, best, (*answered, *unanswered), options, began)


def _pursuit(
    site: Site,
    options: Options,
    cancel: threading.Event | None,
    watch: Callable[[Progress], None] | None,
    began: float,
) -> Pursuit:
    limits = Limits(
        time_s=options.time_s - (time.monotonic() - began),
        relative_gap=options.gap,
        seed=options.seed,
        solver=options.solver,
    )

    bounds: dict[Aim, float | None] = {}

    def tell(aim: Aim, best: float | None, bound: float | None, checked: bool) -> None:
        bounds[aim] = bound if bound is not None else bounds.get(aim)
        if watch is not None:
            watch(Progress(aim, best, bounds[aim], time.monotonic() - began, checked))

    listener = tell if watch is not None else None
    return Pursuit(site, limits, cancel, listener, options.start, options.fixed, options.previous)


def _without_plan(pursuit: Pursuit, seconds: float, ended: bool) -> Result:
    if not ended or not pursuit.infeasible:
        return Result(Outcome.FAILED if pursuit.failure else Outcome.STOPPED_EMPTY, None, (), seconds)
    model, limits, cancel = pursuit.model, pursuit.limits, pursuit.cancel
    found = (*spare_reasons(model, limits, cancel), *repairs(model, limits, cancel))
    reasons = ("the limits and rules together leave no plan", *found)
    return Result(Outcome.INFEASIBLE, None, reasons, seconds)


def _stopped_by(pursuit: Pursuit, proven: bool) -> str:
    if proven:
        return ""
    if pursuit.cancel is not None and pursuit.cancel.is_set():
        return "interrupted"
    return pursuit.failure or "time limit"


def _conclude(
    pursuit: Pursuit, best: State, results: tuple[AimResult, ...], options: Options, began: float
) -> Result:
    """Give the result of a solve with a plan.

    A later aim may end better on an earlier one than it had to: the values are those of the last state.
    """
    values = {result.aim: pursuit.value(result.aim, best) for result in results}
    final = tuple(AimResult(r.aim, values[r.aim], min(r.bound, values[r.aim]), r.proven) for r in results)
    outcome = _outcome(final, options.gap)
    done = outcome is not Outcome.STOPPED_WITH_PLAN
    plan = Plan(best, final, outcome, _stopped_by(pursuit, done), options.previous)
    _refuse_rejected(pursuit.site, plan)
    return Result(outcome, plan, (), time.monotonic() - began)


def _outcome(results: tuple[AimResult, ...], gap: float) -> Outcome:
    """Say how a solve with a plan ended, by what each aim's value and bound show."""
    if all(result.proven for result in results):
        return Outcome.PROVEN
    close = all(result.proven or result.gap <= gap * abs(result.value) for result in results)
    return Outcome.WITHIN_GAP if gap > 0.0 and close else Outcome.STOPPED_WITH_PLAN


def _refuse_rejected(site: Site, plan: Plan) -> None:
    breaches = verify_plan(site, plan)
    if breaches:
        raise RejectedPlanError("; ".join(f"{item.rule} {item.where}: {item.message}" for item in breaches))
