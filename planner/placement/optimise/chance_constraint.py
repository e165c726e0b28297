"""Targets asked for at a confidence: solve against tighter targets until the plan is as sure as asked.

The first round takes off only what the room itself leaves unsure, which every plan must bear: it is a
relaxation, so its bounds hold. Each next round takes off what the last plan needed.

Why so: a plan that needed more than the first round takes off is called proven only where it reaches the
bounds of that round.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from statistics import NormalDist
from typing import TYPE_CHECKING

from planner.domain.plan import AimResult, Outcome, Plan, aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State
from planner.ledger import ledger
from planner.ledger.certainty import held_levels_dba, room_sigma_db
from planner.placement.params import PARAMS
from planner.tolerances import PROVEN_SHARE

if TYPE_CHECKING:
    from planner.placement.result import Options, Result

NO_BOUND = 0.0
"""What every aim's value is at least: no plan is quieter than its targets, draws, costs or changes less."""

NORMAL = NormalDist()

Solve = Callable[[Site, "Options"], "Result"]


def asks_for_confidence(site: Site) -> bool:
    """Say whether some listener's target is to be met with a confidence."""
    return any(_confident(item) for item in site.listeners)


def _confident(listener: Listener) -> bool:
    return listener.confidence is not None and listener.target_dba is not None


def solve_chance_constrained(site: Site, options: Options, solve_plain: Solve) -> Result:
    """Solve a site with confident targets; the plan's values are those of the site itself."""
    deadline, params = time.monotonic() + options.time_s, PARAMS.confidence
    margins, first_s = least_margins_db(site), params.first_share * options.time_s
    first = result = solve_plain(tighten_targets(site, margins), replace(options, time_s=first_s))
    for number in range(params.rounds):
        left_s = deadline - time.monotonic()
        if result.plan is None or left_s <= 0.0 or _holds(site, result.plan, margins):
            break
        margins = next_margins_db(site, result.plan, margins, gently=number < params.gentle_rounds)
        again = replace(options, time_s=left_s, start=result.plan.state)
        following = solve_plain(tighten_targets(site, margins), again)
        if following.plan is None:
            break
        result = following
    if result.plan is None or first.plan is None:
        return result
    plan = restate(site, result.plan, first.plan)
    return replace(result, plan=plan, outcome=plan.outcome)


def least_margins_db(site: Site) -> dict[str, float]:
    """Compute by confident listener what no plan escapes: with it taken off, bounds hold for every plan."""
    return {item.name: _least_margin_db(item) for item in site.listeners if _confident(item)}


def next_margins_db(
    site: Site, plan: Plan, margins: Mapping[str, float], *, gently: bool
) -> dict[str, float]:
    """Compute margins that shut a plan out: gently, by just so much; else by all that the plan needs.

    A plan that comes next may be surer than this one and need less; gentle steps do not pass it by.
    """
    needed, book = needed_margins_db(site, plan.state), ledger(site, plan.state)
    claimed = _claimed_db(plan)
    found = dict(margins)
    for item in site.listeners:
        if item.name in margins and needed[item.name] > margins[item.name]:
            slack = (item.target_dba or 0.0) + claimed - book.levels_dba[item.name]
            wanted = min(needed[item.name], slack) if gently else needed[item.name]
            found[item.name] = max(margins[item.name], wanted) + PARAMS.confidence.least_step_db
    return found


def _claimed_db(plan: Plan) -> float:
    return next((result.value for result in plan.aims if result.aim is Aim.SOUND), 0.0)


def tighten_targets(site: Site, margins_db: Mapping[str, float]) -> Site:
    """Copy the site with plain targets, each less its margin."""
    listeners = tuple(
        replace(item, target_dba=(item.target_dba or 0.0) - margins_db[item.name], confidence=None)
        if item.name in margins_db
        else replace(item, confidence=None)
        for item in site.listeners
    )
    return replace(site, listeners=listeners)


def needed_margins_db(site: Site, state: State) -> dict[str, float]:
    """Compute by how much each confident listener's level must be under its target in a state, dB."""
    book = ledger(site, state)
    held = held_levels_dba(site, state, book)
    silent = -math.inf
    return {
        item.name: 0.0 if held[item.name] == silent else held[item.name] - book.levels_dba[item.name]
        for item in site.listeners
        if _confident(item)
    }


def _least_margin_db(listener: Listener) -> float:
    """Compute what the room alone leaves unsure, a little less for the scatter of sampling."""
    unsure_db = NORMAL.inv_cdf(listener.confidence or 0.5) * room_sigma_db(listener)
    return max(0.0, unsure_db - PARAMS.confidence.scatter_db)


def _holds(site: Site, plan: Plan, margins: Mapping[str, float]) -> bool:
    """Say whether a plan made against tighter targets is no further over the real ones, surely."""
    needed = needed_margins_db(site, plan.state)
    if all(needed[name] <= margins[name] for name in margins):
        return True
    return aim_value(site, plan.state, ledger(site, plan.state), Aim.SOUND) <= _claimed_db(plan)


def restate(site: Site, plan: Plan, relaxed: Plan) -> Plan:
    """Build a plan with its values on the site itself, and the bounds that the first round proved.

    A later bound holds only while every earlier aim came out as in that round.
    """
    book = ledger(site, plan.state)
    proofs = {result.aim: result for result in relaxed.aims}
    aims, in_step = [], True
    for result in plan.aims:
        value, proof = aim_value(site, plan.state, book, result.aim, plan.previous), proofs.get(result.aim)
        bound = min(proof.bound, value) if in_step and proof is not None else NO_BOUND
        same = value - bound <= PROVEN_SHARE * max(1.0, abs(value))
        proven = in_step and proof is not None and proof.proven and same
        shown = proof.confirmed_by if proven and proof is not None else ""
        aims.append(AimResult(result.aim, value, value if proven else bound, proven, shown))
        in_step = proven
    surely = all(result.proven for result in aims)
    outcome = plan.outcome if surely else Outcome.STOPPED_WITH_PLAN
    stopped = plan.stopped_by if surely else plan.stopped_by or "the confidence asked for"
    return Plan(plan.state, tuple(aims), outcome, stopped, plan.previous)
