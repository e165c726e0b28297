"""The rows that keep the person's rules: who goes where, with whom, and which measures go together."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pulp

from planner.domain.air import Season
from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.machines import Role
from planner.domain.measures import ROOM
from planner.placement.formulation.assignment import Model, Terms
from planner.placement.formulation.problem import Item
from planner.placement.formulation.slots import Slot


def add_rules(model: Model) -> None:
    """Add every rule on services, machines, measures and cooling options."""
    _each_service_once(model)
    _machines_carry(model)
    for slot in model.problem.slots:
        _zones(model, slot)
    for services in dict.fromkeys(rule.services for rule in model.problem.site.apart):
        _apart(model, services)
    _quorums(model)
    _box_roles(model)
    _alike_boxes(model)
    _units(model)
    _unit_order(model)
    _measures(model)
    _cooling(model)


def _each_service_once(model: Model) -> None:
    for item in model.problem.items:
        terms = [(model.place[item.index, slot.key], 1.0) for slot in model.problem.slots_of(item)]
        model.program.row(f"somewhere once:{item.name}", model.program.total(terms) == 1)


def _machines_carry(model: Model) -> None:
    program, total = model.program, model.program.total
    for slot in model.problem.slots:
        placed = model.placed(slot)
        on = model.on[slot.key]
        for item, variable in placed:
            program.row(f"on for:{item.name}@{slot.key}", variable <= on)
        if slot.candidate.role in (Role.APPLIANCE, Role.TOWER):
            terms = [(variable, 1.0) for _, variable in placed]
            about = Conflict(Rule.ALONE, (), slot.place, unit="machines", shown=Shown.REPAIR)
            program.row(f"one service or group:{slot.key}", total([*terms, (on, -1.0)]) <= 0, about)
        if slot.must_carry:
            terms = [(variable, 1.0) for _, variable in placed]
            program.row(f"on only to carry:{slot.key}", total([*terms, (on, -1.0)]) >= 0)


def _zones(model: Model, slot: Slot) -> None:
    by_zone: dict[str, list[Item]] = {}
    for item, _ in model.placed(slot):
        for zone in {service.zone for service in item.services}:
            by_zone.setdefault(zone, []).append(item)
    if len(by_zone) <= slot.spec.zones:
        return
    used: Terms = []
    for zone, items in sorted(by_zone.items()):
        flag = model.program.continuous(f"zone:{zone}@{slot.key}")
        used.append((flag, 1.0))
        for item in items:
            placed = model.place[item.index, slot.key]
            model.program.row(f"zone:{zone}/{item.name}@{slot.key}", placed <= flag)
    carried = model.program.total([*used, (model.on[slot.key], -float(slot.spec.zones))])
    about = Conflict(Rule.ZONES, (), slot.place, unit="zones", shown=Shown.REPAIR)
    model.program.row(f"zones:{slot.key}", carried <= 0, about)


def _apart(model: Model, services: frozenset[str]) -> None:
    name = "/".join(sorted(services))
    about = Conflict(Rule.APART, tuple(sorted(services)), shown=Shown.REPAIR)
    for slot in model.problem.slots:
        terms = [
            (variable, 1.0)
            for item, variable in model.placed(slot)
            if any(service.name in services for service in item.services)
        ]
        if len(terms) > 1:
            row = model.program.total([*terms, (model.on[slot.key], -1.0)]) <= 0
            model.program.row(f"apart:{name}@{slot.key}", row, replace(about, place=slot.place))


def _quorums(model: Model) -> None:
    for number, rule in enumerate(model.problem.site.quorums):
        terms = [
            (variable, float(sum(service.name in rule.services for service in item.services)))
            for slot in model.problem.slots
            if not slot.is_host
            for item, variable in model.placed(slot)
            if any(service.name in rule.services for service in item.services)
        ]
        names = tuple(sorted(rule.services))
        about = Conflict(Rule.QUORUM, names, unit="services", because=rule.because, shown=Shown.REPAIR)
        model.program.row(f"physical quorum {number}", model.program.total(terms) >= rule.physical, about)


def _box_roles(model: Model) -> None:
    for box in model.problem.site.boxes:
        keys = [slot.key for slot in model.problem.slots if slot.box == box.name]
        total = model.program.total([(model.on[key], 1.0) for key in keys])
        if box.stays is not None:
            model.program.row(f"stays on:{box.name}", total == 1)
        elif len(keys) > 1:
            model.program.row(f"one role:{box.name}", total <= 1)


def _alike_boxes(model: Model) -> None:
    """Of alike boxes on a circuit, those re-used as hosts and those left as they are are no more than all."""
    site, kept = model.problem.site, {slot.box: slot for slot in model.problem.slots if slot.box}
    for pool, slots in model.problem.pools_of_boxes.items():
        boxes = slots[0].alike.boxes if slots[0].alike is not None else ()
        for circuit in slots[0].circuits:
            here = [name for name in boxes if site.box[name].circuit == circuit]
            counts = model.on if len(slots[0].circuits) == 1 else None
            hosts = [counts[s.key] if counts is not None else model.plug[s.key, circuit] for s in slots]
            terms = [(each, 1.0) for each in (*hosts, *(model.on[kept[name].key] for name in here))]
            model.program.row(f"one role each:{pool}/{circuit}", model.program.total(terms) <= len(here))


def _units(model: Model) -> None:
    for kind in model.problem.site.kinds:
        pools = [slot for slot in model.problem.slots if slot.pool == kind.name]
        if len(pools) > 1:
            terms = [(model.on[slot.key], 1.0) for slot in pools]
            model.program.row(f"units:{kind.name}", model.program.total(terms) <= kind.max_units)


def _unit_order(model: Model) -> None:
    """Units of a kind are alike: use them in order, each next one opened by a later item."""
    by_kind: dict[str, list[Slot]] = {}
    for slot in model.problem.slots:
        if not slot.is_box and not slot.pool:
            by_kind.setdefault(slot.candidate.ref, []).append(slot)
    for units in by_kind.values():
        for before, after in pairwise(units):
            model.program.row(f"in order:{after.key}", model.on[after.key] <= model.on[before.key])
            earlier: Terms = []
            for item, variable in model.placed(after):
                row = model.program.total([*earlier, (variable, -1.0)]) >= 0
                model.program.row(f"opened in order:{item.name}@{after.key}", row)
                earlier = [*earlier, (model.place[item.index, before.key], 1.0)]


def _measures(model: Model) -> None:
    site, program, total = model.problem.site, model.program, model.program.total
    for name, taken in model.take.items():
        target = site.measure[name].target
        program.row(f"measure:{name}", total([*_modes_with(model, name, target), (taken, -1.0)]) == 0)
        for other in site.measure[name].excludes:
            against = model.take[other] if other in model.take else model.have.get(other)
            if against is not None:
                pair = total([(taken, 1.0), (against, 1.0)])
                program.row(f"not both:{name}/{other}", pair <= 1, _excludes(name, other))
        for other in site.measure[name].requires:
            needed = model.take[other] if other in model.take else model.have.get(other)
            row = taken <= (needed if needed is not None else 0)
            program.row(f"measure needs:{name}/{other}", row)


def _modes_with(model: Model, name: str, target: str) -> Terms:
    problem = model.problem
    if target == ROOM:
        chosen = [index for index, names in enumerate(problem.variants) if name in names]
        return [(model.variant[index], 1.0) for index in chosen]
    if target in problem.site.box:
        keys = [slot.key for slot in problem.slots if slot.box == target]
    else:
        keys = [target]
    indices = [mode.index for mode in problem.modes(target) if name in mode.measures]
    return [(model.mode[key, index], 1.0) for key in keys for index in indices]


def _cooling(model: Model) -> None:
    site, program, total = model.problem.site, model.program, model.program.total
    for option in site.cooling:
        for season in site.seasons:
            runs = model.runs_in(option, season)
            if runs is None:
                continue
            for other in option.requires:
                needed = _there(model, other, season)
                row = runs <= (needed if needed is not None else 0)
                program.row(f"cooling needs:{option.name}/{other}@{season.name}", row)
            for other in option.excludes:
                against = _there(model, other, season)
                if against is not None:
                    pair = total([(runs, 1.0), (against, 1.0)])
                    name = f"not both:{option.name}/{other}@{season.name}"
                    program.row(name, pair <= 1, _excludes(option.name, other))


def _excludes(one: str, other: str) -> Conflict:
    return Conflict(Rule.EXCLUDES, (one, other), shown=Shown.REPAIR)


def _there(model: Model, name: str, season: Season) -> pulp.LpVariable | None:
    """Look up the variable of a measure, or of an option in a season (not by ``or``: a variable is falsy)."""
    return model.take[name] if name in model.take else model.run.get((name, season.name))
