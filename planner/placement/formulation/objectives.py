"""What each aim minimises."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pulp

from planner.domain.plan import Fate, Place, fate, places
from planner.domain.rules import Aim
from planner.domain.state import State, role_today, state_today
from planner.ledger import draw
from planner.placement.formulation.assignment import Model, Terms
from planner.placement.formulation.capacity_rows import money_terms, reuses
from planner.placement.formulation.slots import Slot
from planner.placement.formulation.thermal import power_terms


def objective(model: Model, aim: Aim) -> pulp.LpAffineExpression:
    """Build the expression that an aim minimises; the sound aim has none, it is a level that rows ask for."""
    if aim is Aim.POWER:
        return model.program.total(_mean_power(model))
    if aim is Aim.COST:
        rate = model.problem.site.policy.labour_per_hour
        return model.program.total(money_terms(model, labour_per_hour=rate))
    if aim is Aim.CHANGE:
        return _changes(model) if model.previous is None else _differences(model, model.previous)
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


def _differences(model: Model, previous: State) -> pulp.LpAffineExpression:
    """Build what differs from an earlier plan, counted as `planner.domain.plan.differences` does.

    Where boxes that were hosts are pooled, what moves from one to another is not seen: it is less, then.
    """
    site, before = model.problem.site, places(previous)
    terms: Terms = []
    for slot in model.problem.slots:
        there = _places(slot)
        for item, variable in model.placed(slot):
            moved = sum(before.get(service.name, there[0]) not in there for service in item.services)
            terms.append((variable, float(moved)))
    terms += [(_units_more_or_less(model, kind.name, previous), 1.0) for kind in site.kinds]
    expression = model.program.total(terms)
    for box in site.boxes:
        expression += _other_fate(model, box.name, previous)
    for slots in model.problem.pools_of_boxes.values():
        expression += _reused_or_not(model, slots)
    for name, taken in model.take.items():
        expression += 1 - taken if name in previous.measures else taken
    expression += len(previous.measures & set(site.measure) - set(model.take))
    for season in site.seasons:
        for option in site.cooling:
            runs = model.runs_in(option, season)
            ran = option.name in previous.cooling.get(season.name, frozenset())
            if runs is not None:
                expression += 1 - runs if ran else runs
            elif ran:
                expression += 1
    return expression


def _places(slot: Slot) -> tuple[Place, ...]:
    """Find where an earlier plan may have had what is on a slot, unmoved."""
    names = slot.alike.boxes if slot.alike is not None else (slot.candidate.ref,)
    return tuple((slot.candidate.sort, name, slot.candidate.role) for name in names)


def _reused_or_not(model: Model, slots: Sequence[Slot]) -> pulp.LpAffineExpression:
    """Build what the hosts of a pool add to what `_other_fate` says of their boxes one by one.

    A box that was off and is a host has changed, one that was a host and is one has not, and of one that was
    kept its being kept says it all.
    """
    reused = model.program.total([(model.on[slot.key], 1.0) for slot in slots])
    alike = slots[0].alike
    if alike is None or model.previous is None:
        return reused
    before = fate(model.problem.site, model.previous, alike.first)
    if before is Fate.REUSE:
        return -reused
    return reused if before is Fate.RETIRE else pulp.LpAffineExpression()


def _units_more_or_less(model: Model, kind: str, previous: State) -> pulp.LpVariable:
    """Build a variable of at least the difference in units of a kind, made once."""
    name = f"units more or less:{kind}"
    if name not in model.counters:
        count = sum(machine.kind == kind for machine in previous.machines)
        units = [
            (model.on[s.key], 1.0) for s in model.problem.slots if not s.is_box and s.candidate.ref == kind
        ]
        most = max(
            count, sum(s.units for s in model.problem.slots if not s.is_box and s.candidate.ref == kind)
        )
        model.counters[name] = differ = model.program.integer(name, most)
        total = model.program.total
        model.program.row(f"more:{name}", total([*units, (differ, -1.0)]) <= count)
        model.program.row(f"less:{name}", total([*units, (differ, 1.0)]) >= count)
    return model.counters[name]


def _other_fate(model: Model, box: str, previous: State) -> pulp.LpAffineExpression:
    slots = {s.candidate.role: s.key for s in model.problem.slots if s.box == box}
    role = next((machine.role for machine in previous.machines if machine.box == box), None)
    if role is None:
        return model.program.total([(model.on[key], 1.0) for key in slots.values()])
    key = slots.get(role)
    return 1 - model.program.total([(model.on[key], 1.0)] if key is not None else [])


def _stays(model: Model, slot: Slot, box_today: str) -> bool:
    site = model.problem.site
    return (
        slot.is_box and slot.candidate.ref == box_today and slot.candidate.role is role_today(site, box_today)
    )
