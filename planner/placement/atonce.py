"""Prove a plan the best in all aims at once: each aim's bound is asked for while the ones before it hold.

The questions do not wait for each other, because the plan at hand says what every aim would come to; so
two cores halve the wait. One bound that leaves room for a better plan ends them all.
"""

from __future__ import annotations

import copy
import threading
import time
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait

from planner.milp import Answer, Ending, Limits
from planner.placement.problem import TooManyVariantsError
from planner.placement.pursuit import Pursuit
from planner.placement.script import HOLD, Question, Script
from planner.placement.solve import Options
from planner.placement.sure import asks_for_confidence
from planner.plan import AimResult, Outcome, Plan
from planner.site import Aim, Site
from planner.state import State
from planner.verify import verify_plan, verify_state

WORKERS = 2
TICK_S = 0.02


def best_at_once(
    site: Site, state: State, options: Options, cancel: threading.Event | None = None
) -> Plan | None:
    """Give a state as the proven best plan that differs least from itself, or None: it may not be the best."""
    if options.fixed is not None or asks_for_confidence(site) or verify_state(site, state):
        return None
    limits = Limits(time_s=options.time_s, seed=options.seed, solver=options.solver)
    try:
        pursuit = Pursuit(site, limits, start=state, previous=state)
    except TooManyVariantsError:
        return None
    order = options.aims or site.policy.aims
    value = {aim: pursuit.value(aim, state) for aim in order}
    asked: list[tuple[Aim, Script]] = []
    for aim in order:
        if value[aim] > 0.0:
            if aim is Aim.SOUND:
                return None
            asked.append((aim, _apart(pursuit.script)))
        pursuit.script.hold(aim, value[aim])
    bounds = _bounds(asked, value, state, limits, cancel)
    if bounds is None:
        return None
    results = tuple(AimResult(aim, value[aim], bounds.get(aim, value[aim]), True) for aim in order)
    plan = Plan(state, results, Outcome.PROVEN, previous=state)
    return None if verify_plan(site, plan) else plan


def _apart(script: Script) -> Script:
    """Give a script with rows of its own over the same model."""
    own = copy.copy(script)
    own.rows = dict(script.rows)
    return own


def _bounds(
    asked: list[tuple[Aim, Script]],
    value: dict[Aim, float],
    state: State,
    limits: Limits,
    cancel: threading.Event | None,
) -> dict[Aim, float] | None:
    """Give the bound of every aim asked about, None as soon as one leaves room for a better plan."""
    stop = threading.Event()
    found: dict[Aim, float] = {}
    with ThreadPoolExecutor(WORKERS) as pool:
        waiting: dict[Future[Answer], tuple[Aim, Script]] = {
            pool.submit(script.ask, Question(aim, minimise=True), limits, state, stop): (aim, script)
            for aim, script in asked
        }
        deadline = time.monotonic() + limits.time_s
        while waiting:
            if time.monotonic() > deadline or (cancel is not None and cancel.is_set()):
                stop.set()
            done, _ = wait(waiting, timeout=TICK_S, return_when=FIRST_COMPLETED)
            for future in done:
                aim, script = waiting.pop(future)
                bound = _bound(aim, script, future.result(), value[aim])
                if bound is None:
                    stop.set()
                else:
                    found[aim] = bound
    return found if len(found) == len(asked) and not stop.is_set() else None


def _bound(aim: Aim, script: Script, answer: Answer, value: float) -> float | None:
    """Give the bound of an answer where it proves the value: within the aim's step or a solver's tolerance."""
    if answer.ending is not Ending.PROVEN:
        return None
    gap = value - answer.bound
    if gap < script.grain(Question(aim, minimise=True)):
        return value
    return min(answer.bound, value) if gap <= HOLD[aim] else None
