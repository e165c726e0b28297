"""What each aim minimises."""

from __future__ import annotations

import math

import pulp

from planner.ledger import draw
from planner.placement.model.climate import power_terms
from planner.placement.model.core import Model, Terms
from planner.placement.model.limits import money_terms, reuses
from planner.placement.problem import Slot
from planner.site import Aim
from planner.state import role_today, state_today


def objective(model: Model, aim: Aim) -> pulp.LpAffineExpression:
    """Give the expression that an aim minimises; the sound aim has none, it is a level that rows ask for."""
    if aim is Aim.POWER:
        return model.program.total(_mean_power(model))
    if aim is Aim.COST:
        rate = model.problem.site.policy.labour_per_hour
        return model.program.total(money_terms(model, labour_per_hour=rate))
    if aim is Aim.CHANGE:
        return _changes(model)
    raise ValueError("the sound aim is reached by rows")


def _mean_power(model: Model) -> Terms:
    site = model.problem.site
    hours = math.fsum(season.hours for season in site.seasons)
    terms = power_terms(model)
    for option in site.cooling:
        for season in site.seasons:
            for mode in model.problem.modes(option.name) if season.name in option.removal else ():
                watts = draw.cooling_w(site, option, mode.measures) * option.duty * season.hours / hours
                terms.append((model.run_mode[option.name, season.name, mode.index], watts))
    return terms


def _changes(model: Model) -> pulp.LpAffineExpression:
    site = model.problem.site
    terms: Terms = []
    for slot in model.problem.slots:
        for item, variable in model.placed(slot):
            moved = sum(not _stays(model, slot, service.box) for service in item.services)
            terms.append((variable, float(moved)))
        if not slot.is_box or reuses(model, slot):
            terms.append((model.on[slot.key], 1.0))
        if slot.is_box:
            terms.append((model.on[slot.key], -1.0))
    terms += [(taken, 1.0) for taken in model.take.values()]
    terms += [(model.have[option.name], 1.0) for option in site.cooling if not option.owned]
    expression = model.program.total(terms) + len(site.boxes)
    today = state_today(site).cooling
    for (name, season), runs in model.run.items():
        if name in today[season]:
            expression += 1 - runs
        else:
            expression += runs
    return expression


def _stays(model: Model, slot: Slot, box_today: str) -> bool:
    site = model.problem.site
    return (
        slot.is_box and slot.candidate.ref == box_today and slot.candidate.role is role_today(site, box_today)
    )
