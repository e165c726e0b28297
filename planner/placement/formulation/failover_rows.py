"""The rows that keep spare hosts: what any lost hosts carried finds room on the hosts that are left.

The sums hold for pools of units too, and every plan keeps them; whether a failure really packs is decided
afterwards. Where one does not, that loss is written out whole: who restarts where, by every rule. A host is
known here by its slot; the others stay where they are.

Why so: sums over the k largest hosts first, then every loss of k is packed, and what does not pack is
written out whole. Smaller losses need no row of their own: what survives the larger one survives them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

import pulp

from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.resources import RESOURCES
from planner.placement.formulation.assignment import Model, Terms
from planner.placement.formulation.failure_scenarios import WrittenOut, may_restart, restarting
from planner.placement.formulation.peak_hours import binding_hours
from planner.placement.formulation.problem import Item, Loss
from planner.placement.formulation.slots import Slot
from planner.placement.params import PARAMS

ALL = "all services"


def add_spare(model: Model) -> None:
    """Add what every plan with a spare host keeps, and whole the losses that the problem names."""
    if not model.problem.site.policy.spare_hosts:
        return
    hosts = [slot for slot in model.problem.slots if slot.is_host]
    parts = [part for item in model.problem.items if (part := restarting(item)) is not None]
    _another_host(model, hosts, parts)
    _apart_and_one_more(model, hosts, parts)
    for scope, some in _scopes(parts):
        _rooms(model, scope, hosts, some)
    if model.problem.squeeze > 0.0:
        _stand_by(model, hosts)
    by_key = {slot.key: slot for slot in hosts}
    for keys in sorted(model.problem.lost):
        if by_key.keys() >= {*keys}:
            WrittenOut(model, tuple(by_key[key] for key in keys), hosts, parts).add()


def _scopes(parts: Sequence[Item]) -> list[tuple[str, list[Item]]]:
    """List the sets of parts whose room is summed: all, and those of each zone where there are several."""
    zones = {part.index: {service.zone for service in part.services} for part in parts}
    names = sorted({zone for found in zones.values() for zone in found})
    by_zone = [(name, [part for part in parts if zones[part.index] == {name}]) for name in names]
    return [(ALL, list(parts)), *(by_zone if len(names) > 1 else [])]


def _guest(model: Model, part: Item, hosts: Iterable[Slot]) -> Terms:
    """Build the terms that sum to 1 where a part's item is a guest."""
    places = (model.place.get((part.index, slot.key)) for slot in hosts)
    return [(place, 1.0) for place in places if place is not None]


def _another_host(model: Model, hosts: Sequence[Slot], parts: Sequence[Item]) -> None:
    """Where a part is a guest, a host more is on that may carry it than may be lost."""
    many = model.problem.site.policy.spare_hosts + 1.0
    for part in parts:
        guest = [(place, -many) for place, _ in _guest(model, part, hosts)]
        able = [(model.on[slot.key], 1.0) for slot in hosts if may_restart(model, part, slot)]
        if guest:
            about = Conflict(Rule.OTHER_HOST, part.names, shown=Shown.AFTER_LOSS)
            model.program.row(f"spare host:{part.name}", model.program.total([*able, *guest]) >= 0, about)


def _apart_and_one_more(model: Model, hosts: Sequence[Slot], parts: Sequence[Item]) -> None:
    """Guests kept apart take a host each, and where one of them restarts, as many more as may be lost."""
    spare = float(model.problem.site.policy.spare_hosts)
    by_service = {service.name: part for part in parts for service in part.services}
    place = {service.name: item for item in model.problem.items for service in item.services}
    on = [(model.on[slot.key], 1.0) for slot in hosts]
    for number, rule in enumerate(model.problem.site.apart):
        together = {place[name].index: place[name] for name in sorted(rule.services)}
        taken = [(v, -1.0) for item in together.values() for v, _ in _guest(model, item, hosts)]
        for name in sorted(rule.services & by_service.keys()):
            more = [(v, -spare) for v, _ in _guest(model, by_service[name], hosts)]
            if more:
                row = model.program.total([*on, *taken, *more]) >= 0
                about = Conflict(Rule.APART, (name,), because=rule.because, shown=Shown.AFTER_LOSS)
                model.program.row(f"spare apart:{number}/{name}", row, about)


def _rooms(model: Model, scope: str, hosts: Sequence[Slot], parts: Sequence[Item]) -> None:
    """The room of all hosts but the largest that may be lost takes all parts, in each resource and hour.

    After any loss all of them are on hosts that survive it.
    """
    zones = {service.zone for part in parts for service in part.services}
    able = [slot for slot in hosts if slot.zone is None or slot.zone in zones]
    for resource in RESOURCES:
        about = Conflict(
            Rule.CAPACITY,
            () if scope == ALL else (scope,),
            resource=resource,
            unit=RESOURCES[resource].unit,
            shown=Shown.AFTER_LOSS,
        )
        rooms = {slot.key: max(0.0, model.problem.usable(slot, resource)) for slot in able}
        largest = _largest(model, f"largest:{resource}/{scope}", able, rooms)
        kept = 1.0 - model.problem.squeeze
        there = [(model.on[slot.key], kept * rooms[slot.key]) for slot in able]
        for hour in binding_hours(model.problem.site.slots, parts, resource):
            needed = model.problem.needed(hosts[0], parts, resource, hour)
            taken = [
                (place, -amount)
                for part, amount in zip(parts, needed, strict=True)
                for place, _ in _guest(model, part, able)
            ]
            row = model.program.total([*there, *largest, *taken]) >= 0
            model.program.row(f"spare room:{resource}/{scope}@{hour}", row, replace(about, hour=hour))


def _largest(model: Model, name: str, able: Sequence[Slot], rooms: Mapping[str, float]) -> Terms:
    """Build terms that come to at least the room of the largest hosts that are on, as many as may be lost.

    The sum of the k largest values is the least of k t + sum of what each is over t, for any t.
    """
    many, program = model.problem.site.policy.spare_hosts, model.program
    level = program.continuous(name, upper=None)
    terms: Terms = [(level, -float(many))]
    for slot in able:
        for count in range(1, min(many, slot.units) + 1):
            label = f"{name}@{slot.key}" + (f"/{count}" if count > 1 else "")
            on = (_at_least(model, slot, count), -rooms[slot.key])
            if many == 1:
                program.row(label, program.total([(level, 1.0), on]) >= 0)
                continue
            over = program.continuous(f"over {label}", upper=None)
            program.row(label, program.total([(level, 1.0), (over, 1.0), on]) >= 0)
            terms.append((over, -1.0))
    return terms


def _stand_by(model: Model, hosts: Sequence[Slot]) -> None:
    """Let as many hosts a zone as may be lost stand by, nearly empty, as large as any that is on.

    Then failures pack. Plans need not be so; it is asked for only where a question is squeezed until its
    pools pack.
    """
    squeeze, program = model.problem.squeeze + PARAMS.failover.small_share, model.program
    many = model.problem.site.policy.spare_hosts
    waits = {slot.key: program.integer(f"stands by:{slot.key}", min(many, slot.units)) for slot in hosts}
    for slot in hosts:
        mates = [other for other in hosts if None in (slot.zone, other.zone) or slot.zone == other.zone]
        able = [(waits[other.key], float(slot.units)) for other in mates if _as_large(model, other, slot)]
        row = program.total([*able, (model.on[slot.key], -float(many))]) >= 0
        program.row(f"one stands by:{slot.key}", row)
        program.row(f"stands by if on:{slot.key}", waits[slot.key] <= model.on[slot.key])
        items = [item for item, _ in model.placed(slot)]
        for resource in RESOURCES:
            room = model.problem.usable(slot, resource)
            there = [
                (model.on[slot.key], (1.0 - squeeze) * room),
                (waits[slot.key], (2.0 * squeeze - 1.0) * room),
            ]
            for hour in binding_hours(model.problem.site.slots, items, resource):
                needed = model.problem.needed(slot, items, resource, hour)
                taken = [(v, -amount) for (_, v), amount in zip(model.placed(slot), needed, strict=True)]
                program.row(
                    f"nearly empty:{resource}/{slot.key}@{hour}", program.total([*there, *taken]) >= 0
                )


def _as_large(model: Model, one: Slot, other: Slot) -> bool:
    return all(
        model.problem.usable(one, resource) >= model.problem.usable(other, resource) for resource in RESOURCES
    )


def _at_least(model: Model, slot: Slot, count: int) -> pulp.LpVariable:
    """Build the variable that is 1 where so many units of a slot are on or more, made once."""
    if slot.units == 1:
        return model.on[slot.key]
    name = f"at least {count}:{slot.key}"
    if name not in model.counters:
        model.counters[name] = enough = model.program.binary(name)
        terms = [(model.on[slot.key], 1.0), (enough, -float(slot.units - count + 1))]
        model.program.row(name, model.program.total(terms) <= count - 1)
    return model.counters[name]


def written_out(
    model: Model, lost: Sequence[tuple[str, ...]], most: int
) -> tuple[frozenset[str], frozenset[Loss]]:
    """Choose the pools of hosts to write out unit by unit, or else the losses to write out whole.

    Neither where a kind's items times units are over ``most``. ``lost``: by names, the hosts whose loss
    fails; where those are written out already, every loss of the same kinds is, and then all are.
    """
    problem = model.problem
    hosts = [slot for slot in problem.slots if slot.is_host]
    pools = [slot for slot in hosts if slot.pool]
    if pools:
        small = max(slot.units * len(problem.items_of(slot)) for slot in pools) <= most
        return frozenset(slot.pool for slot in pools if small), frozenset()
    sort = {slot.name: slot.candidate.ref for slot in hosts}
    meant = {tuple(sorted(sort[name] for name in names)) for names in lost}
    every = [
        some
        for many in {len(names) for names in lost}
        for some in combinations(hosts, many)
        if len({slot.name for slot in some}) == many
    ]
    exact = frozenset(_keys(some) for some in every if tuple(slot.name for slot in some) in {*lost})
    alike = frozenset(_keys(some) for some in every if tuple(sorted(sort[s.name] for s in some)) in meant)
    steps = (exact, alike, frozenset(map(_keys, every)))
    named = next((step for step in steps if step - problem.lost), frozenset())
    return frozenset(), named if len(named) <= PARAMS.failover.most_losses else frozenset()


def _keys(slots: Sequence[Slot]) -> Loss:
    return tuple(slot.key for slot in slots)
