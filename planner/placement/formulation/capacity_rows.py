"""The rows that keep within limits: capacity of machines, rack, circuits, money.

Why so: small items that are alike are counted by the dual feasible function that fits them. Where six of a
kind fill a host to 97.5 %, sums alone leave 2.5 % open for good. Of k = 4 to 24 the one row that counts for
most is written, and only where it asks for 0.1 % more units than any resource's sums. On 160 services that
share their disk operations 0.39 % after 19 s became a proof in 0.6 s, on 1,000 services 1.64 % after 60 s
became 0.03 %.

Tried and left: rows for every k; those that do not bind doubled the time at 500 services.

Why so: a machine's start is a limit of its circuit (`ledger.draw.circuit_starts_w`): all else at its peak
and the greatest machine at 1.5 times its peak (assumed) against the breaker, not against what it may carry
for hours. Rows are made only where that could bind.
"""

from __future__ import annotations

import math
from collections.abc import Set
from dataclasses import replace

import numpy as np

from planner.domain.conflict import Conflict, Place, Rule, Shown
from planner.domain.resources import RESOURCES
from planner.domain.state import role_today
from planner.ledger import draw
from planner.ledger.effects import power_change_w, quieted
from planner.placement.formulation.assignment import Model, Terms
from planner.placement.formulation.peak_hours import binding_hours, profiles
from planner.placement.formulation.slots import Slot
from planner.placement.params import PARAMS

LARGE_ITEMS = (1, 2, 3)
"""Dual feasible functions u_k that count items of at least a quarter of a unit."""

SMALL_ITEMS = range(4, 25)
"""Those that count smaller ones, as where a few that are alike fill a unit short of its brim."""

Shares = np.ndarray[tuple[int], np.dtype[np.float64]]


def add_limits(model: Model) -> None:
    """Add every capacity and limit that does not depend on the season."""
    for slot in model.problem.slots:
        for resource in RESOURCES:
            _capacity(model, slot, resource)
    _rack(model)
    for circuit in model.problem.site.circuit:
        _circuit(model, circuit)
    budget = model.problem.site.policy.budget
    if budget is not None:
        about = Conflict(Rule.BUDGET, unit=model.problem.site.currency, there=budget, shown=Shown.REPAIR)
        model.program.row("budget", model.program.total(money_terms(model)) <= budget, about)


def add_hours(model: Model, hours: Set[int]) -> None:
    """Add the capacity rows of some hours that were left out so far."""
    written = model.hours
    if written is None or written.issuperset(hours):
        return
    model.hours = set(hours) - written
    for slot in model.problem.slots:
        for resource in RESOURCES:
            _capacity(model, slot, resource)
    model.hours |= written


def _capacity(model: Model, slot: Slot, resource: str) -> None:
    placed = model.placed(slot)
    items = [item for item, _ in placed]
    capacity = model.problem.usable(slot, resource)
    if math.isinf(capacity):
        return
    hours = binding_hours(model.problem.site.slots, items, resource)
    shared = slot.units > 1 and slot.is_host
    if shared:
        capacity *= 1.0 - model.problem.squeeze
    fullest = _fullest_units(model, slot) if shared else 0.0
    unit = RESOURCES[resource].unit
    about = Conflict(Rule.CAPACITY, (), slot.place, resource, unit=unit, shown=Shown.REPAIR)
    for hour in hours if model.hours is None else sorted(model.hours.intersection(hours)):
        needed = model.problem.needed(slot, items, resource, hour)
        if sum(needed) <= capacity:
            continue
        terms: Terms = [(variable, amount) for (_, variable), amount in zip(placed, needed, strict=True)]
        row = model.program.total([*terms, (model.on[slot.key], -capacity)]) <= 0
        model.program.row(f"{resource}:{slot.key}@{hour}", row, replace(about, hour=hour))
        if shared:
            _pool_cuts(model, f"{resource}:{slot.key}@{hour}", slot, terms, capacity, fullest)


def _fullest_units(model: Model, slot: Slot) -> float:
    """Compute how many units all items of a pool would fill by their sums, where that is most."""
    items = model.problem.items_of(slot)
    units = [0.0]
    for resource in RESOURCES if items else ():
        capacity = model.problem.usable(slot, resource)
        hour = int(np.argmax(profiles(model.problem.site.slots, items, resource).sum(axis=1)))
        taken = sum(model.problem.needed(slot, items, resource, hour))
        units.append(taken / capacity if capacity > 0.0 else 0.0)
    return max(units) / (1.0 - model.problem.squeeze)


def _pool_cuts(model: Model, name: str, slot: Slot, terms: Terms, capacity: float, fullest: float) -> None:
    """Strengthen a pool: large items fill units more than their size says.

    The dual feasible functions u_k (Fekete and Schepers 2001): a share x of a unit counts as x where
    (k+1)x is whole, else as floor((k+1)x)/k; counted so, the items on n units still sum to at most n.
    For small items only the k is taken by which all of them count for most, and only where that is for more
    than the ``fullest`` units that any resource's sums ask for: a row that does not bind costs time.
    """
    shares = np.array([amount / capacity for _, amount in terms])
    total = {k: float(counted_shares(shares, k).sum()) for k in SMALL_ITEMS}
    best = max(total, key=lambda k: total[k])
    for k in (*LARGE_ITEMS, *([best] if total[best] > PARAMS.formulation.counting_gain * fullest else [])):
        counted = counted_shares(shares, k)
        if (counted > shares).any():
            pairs = [(variable, share) for (variable, _), share in zip(terms, counted.tolist(), strict=True)]
            row = model.program.total([*pairs, (model.on[slot.key], -1.0)]) <= 0
            model.program.row(f"items counted by {k}:{name}", row)


def counted_shares(shares: Shares, k: int) -> Shares:
    """Compute what shares of a unit count for under the dual feasible function u_k."""
    scaled = (k + 1) * shares
    return np.where(np.abs(scaled - np.round(scaled)) < 1e-9, shares, np.floor(scaled) / k)


def _rack(model: Model) -> None:
    site = model.problem.site
    if site.room.rack_u is None:
        return
    terms: Terms = [(model.on[slot.key], float(slot.spec.rack_u)) for slot in model.problem.slots]
    for gear in site.gear:
        for mode, variable in model.source_modes(gear.name, gear.name):
            if quieted(site, gear.name, gear.sound, mode.measures) is not None:
                terms.append((variable, float(gear.rack_u)))
    about = Conflict(Rule.RACK, unit="rack units", there=site.room.rack_u, shown=Shown.REPAIR)
    model.program.row("rack units", model.program.total(terms) <= site.room.rack_u, about)


def _circuit(model: Model, circuit: str) -> None:
    site = model.problem.site
    terms: Terms = []
    for slot in model.problem.slots:
        wall = draw.wall_factor(site, slot.on_ups)
        if slot.circuits == (circuit,):
            for mode, variable in model.slot_modes(slot):
                change = power_change_w(site, slot.name, slot.spec.idle_w, mode.measures)
                terms.append((variable, (slot.spec.peak_w + change) * wall))
        elif circuit in slot.circuits:
            terms.append((model.plug[slot.key, circuit], slot.spec.peak_w * wall))
    for gear in site.gear:
        if gear.circuit == circuit:
            for mode, variable in model.source_modes(gear.name, gear.name):
                terms.append((variable, draw.gear_w(site, gear, mode.measures)))
    for option in site.cooling:
        if option.circuit == circuit:
            for mode, variable in model.source_modes(option.name, option.name):
                terms.append((variable, draw.cooling_w(site, option, mode.measures)))
    limit = site.circuit[circuit].continuous_w
    about = Conflict(Rule.CIRCUIT, (), Place(circuit, circuit), unit="W", there=limit, shown=Shown.REPAIR)
    model.program.row(f"circuit:{circuit}", model.program.total(terms) <= limit, about)


def reuses(model: Model, slot: Slot) -> bool:
    """Say whether a slot is a box in a new role."""
    return slot.is_box and slot.candidate.role is not role_today(model.problem.site, slot.candidate.ref)


def money_terms(model: Model, *, labour_per_hour: float = 0.0) -> Terms:
    """Build the outlay by variable, with work at an hourly rate if asked."""
    site = model.problem.site
    terms: Terms = []
    for slot in model.problem.slots:
        if not slot.is_box:
            kind = site.kind[slot.candidate.ref]
            terms.append((model.on[slot.key], kind.price + labour_per_hour * kind.hours))
        elif reuses(model, slot):
            box = site.box[slot.candidate.ref]
            terms.append((model.on[slot.key], box.reuse_price + labour_per_hour * box.reuse_hours))
    for option in site.cooling:
        if not option.owned:
            terms.append((model.have[option.name], option.price + labour_per_hour * option.hours))
    for name, taken in model.take.items():
        measure = site.measure[name]
        terms.append((taken, measure.price + labour_per_hour * measure.hours))
    return terms
