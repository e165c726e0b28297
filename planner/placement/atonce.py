"""Prove a plan the best in all aims at once: each aim's bound is asked for while the ones before it hold.

The questions do not wait for each other, because the plan at hand says what every aim would come to; so
two cores halve the wait. One bound that leaves room for a better plan ends them all.
"""

from __future__ import annotations

import threading
import time
from concurrent.futures import FIRST_COMPLETED, ThreadPoolExecutor, wait
from dataclasses import dataclass

from planner.ledger import ledger
from planner.milp import Answer, Ending, Limits
from planner.placement.problem import TooManyVariantsError
from planner.placement.script import HOLD, Question, Script
from planner.placement.solve import Options
from planner.placement.sure import asks_for_confidence
from planner.plan import AimResult, Outcome, Plan, aim_value
from planner.site import Aim, Site
from planner.state import State
from planner.verify import verify_plan, verify_state

WORKERS = 2
TICK_S = 0.02


@dataclass(frozen=True)
class _Task:
    """A bound to ask for: an aim, its value in the plan at hand, and what the aims before it came to."""

    aim: Aim
    value: float
    held: tuple[tuple[Aim, float], ...]


def best_at_once(
    site: Site, state: State, options: Options, cancel: threading.Event | None = None
) -> Plan | None:
    """Give a state as a plan proven to be the best, its changes counted from itself; else None."""
    if options.fixed is not None or asks_for_confidence(site) or verify_state(site, state):
        return None
    order, book = options.aims or site.policy.aims, ledger(site, state)
    value = {aim: aim_value(site, state, book, aim, state) for aim in order}
    if value.get(Aim.SOUND, 0.0) > 0.0:
        return None
    reached = tuple(value.items())
    tasks = [_Task(aim, value[aim], reached[:place]) for place, aim in enumerate(order) if value[aim] > 0.0]
    try:
        bounds = _bounds(site, state, tasks, options, cancel)
    except TooManyVariantsError:
        return None
    if bounds is None:
        return None
    results = tuple(AimResult(aim, value[aim], bounds.get(aim, value[aim]), True) for aim in order)
    plan = Plan(state, results, Outcome.PROVEN, previous=state)
    return None if verify_plan(site, plan) else plan


def _bounds(
    site: Site, state: State, tasks: list[_Task], options: Options, cancel: threading.Event | None
) -> dict[Aim, float] | None:
    """Give the bound of every task's aim, None as soon as one leaves room for a better plan."""
    limits = Limits(time_s=options.time_s, seed=options.seed, solver=options.solver)
    stop, found = threading.Event(), dict[Aim, float]()
    deadline = time.monotonic() + limits.time_s
    with ThreadPoolExecutor(WORKERS) as pool:
        waiting = {pool.submit(_proven, site, state, task, limits, stop): task.aim for task in tasks}
        while waiting:
            if time.monotonic() > deadline or (cancel is not None and cancel.is_set()):
                stop.set()
            done, _ = wait(waiting, timeout=TICK_S, return_when=FIRST_COMPLETED)
            for future in done:
                aim, bound = waiting.pop(future), future.result()
                if bound is None:
                    stop.set()
                else:
                    found[aim] = bound
    return found if len(found) == len(tasks) and not stop.is_set() else None


def _proven(site: Site, state: State, task: _Task, limits: Limits, stop: threading.Event) -> float | None:
    """Write a model of its own and ask for the bound: threads share nothing that changes."""
    if stop.is_set():
        return None
    script = Script(site, held=task.held, previous=state)
    answer = script.ask(Question(task.aim, minimise=True), limits, state, stop)
    return _bound(task.aim, script, answer, task.value)


def _bound(aim: Aim, script: Script, answer: Answer, value: float) -> float | None:
    """Give the bound of an answer where it proves the value, within the aim's step or a tolerance."""
    if answer.ending is not Ending.PROVEN:
        return None
    gap = value - answer.bound
    if gap < script.grain(Question(aim, minimise=True)):
        return value
    return min(answer.bound, value) if gap <= HOLD[aim] else None
