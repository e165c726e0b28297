"""The rows that keep a spare host: what any one lost host carried finds room on the hosts that are left.

The sums hold for pools of units too, and every plan keeps them; whether a failure really packs is decided
afterwards. Where one does not, the loss of that host is written out whole: who restarts where, by every
rule. A host is known here by its slot; the others stay where they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import pulp

from planner.placement.model.core import Model, Terms
from planner.placement.model.limits import binding_hours, needed, usable
from planner.placement.problem import Item, Slot
from planner.site import RESOURCES

ALL = "all services"
TOLERANCE = 1e-6
SMALL = 0.02
"""Share of a host that stands by for what it carries itself."""


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
    for slot in hosts:
        if slot.key in model.problem.lost:
            _Loss(model, slot, hosts, parts).add()


def restarting(item: Item) -> Item | None:
    """Give the part of an item that restarts elsewhere when its host is lost; None where nothing does.

    A service tied to a box is an accepted loss.
    """
    services = tuple(service for service in item.services if service.restart and service.stay_on is None)
    return Item(item.index, services) if services else None


def may_restart(model: Model, part: Item, slot: Slot) -> bool:
    """Say whether a part may restart on a host that carries nothing else but what its zone lets it."""
    zones = {service.zone for service in part.services}
    if len(zones) > slot.spec.zones or (slot.zone is not None and zones != {slot.zone}):
        return False
    if any(service.needs - slot.spec.offers for service in part.services):
        return False
    return all(
        needed(model, slot, resource, part, hour) <= _loosely(usable(model, slot, resource))
        for resource in RESOURCES
        for hour in binding_hours(model.problem.site.slots, [part], resource)
    )


def _loosely(room: float) -> float:
    return room + TOLERANCE * max(1.0, abs(room))


def _scopes(parts: Sequence[Item]) -> list[tuple[str, list[Item]]]:
    """Give the sets of parts whose room is summed: all, and those of each zone where there are several."""
    zones = {part.index: {service.zone for service in part.services} for part in parts}
    names = sorted({zone for found in zones.values() for zone in found})
    by_zone = [(name, [part for part in parts if zones[part.index] == {name}]) for name in names]
    return [(ALL, list(parts)), *(by_zone if len(names) > 1 else [])]


def _guest(model: Model, part: Item, hosts: Iterable[Slot]) -> Terms:
    """Give the terms that sum to 1 where a part's item is a guest."""
    places = (model.place.get((part.index, slot.key)) for slot in hosts)
    return [(place, 1.0) for place in places if place is not None]


def _another_host(model: Model, hosts: Sequence[Slot], parts: Sequence[Item]) -> None:
    """Where a part is a guest, two hosts are on that may carry it."""
    for part in parts:
        guest = [(place, -2.0) for place, _ in _guest(model, part, hosts)]
        able = [(model.on[slot.key], 1.0) for slot in hosts if may_restart(model, part, slot)]
        if guest:
            model.program.row(f"spare host:{part.name}", model.program.total([*able, *guest]) >= 0)


def _apart_and_one_more(model: Model, hosts: Sequence[Slot], parts: Sequence[Item]) -> None:
    """Guests kept apart take a host each, and one more for the one that restarts."""
    by_service = {service.name: part for part in parts for service in part.services}
    place = {service.name: item for item in model.problem.items for service in item.services}
    on = [(model.on[slot.key], 1.0) for slot in hosts]
    for number, rule in enumerate(model.problem.site.apart):
        together = {place[name].index: place[name] for name in sorted(rule.services)}
        taken = [(v, -1.0) for item in together.values() for v, _ in _guest(model, item, hosts)]
        for name in sorted(rule.services & by_service.keys()):
            more = [(v, -1.0) for v, _ in _guest(model, by_service[name], hosts)]
            if more:
                row = model.program.total([*on, *taken, *more]) >= 0
                model.program.row(f"spare apart:{number}/{name}", row)


def _rooms(model: Model, scope: str, hosts: Sequence[Slot], parts: Sequence[Item]) -> None:
    """The room of all hosts but the largest that is on takes all parts, in each resource and hour.

    After any loss all of them are on hosts that survive it.
    """
    zones = {service.zone for part in parts for service in part.services}
    able = [slot for slot in hosts if slot.zone is None or slot.zone in zones]
    for resource in RESOURCES:
        rooms = {slot.key: max(0.0, usable(model, slot, resource)) for slot in able}
        largest = model.program.continuous(f"largest:{resource}/{scope}", upper=None)
        for slot in able:
            row = model.program.total([(largest, 1.0), (_some(model, slot), -rooms[slot.key])]) >= 0
            model.program.row(f"largest:{resource}/{scope}@{slot.key}", row)
        kept = 1.0 - model.problem.squeeze
        there = [(model.on[slot.key], kept * rooms[slot.key]) for slot in able]
        for hour in binding_hours(model.problem.site.slots, parts, resource):
            taken = [
                (place, -needed(model, hosts[0], resource, part, hour))
                for part in parts
                for place, _ in _guest(model, part, able)
            ]
            row = model.program.total([*there, (largest, -1.0), *taken]) >= 0
            model.program.row(f"spare room:{resource}/{scope}@{hour}", row)


def _stand_by(model: Model, hosts: Sequence[Slot]) -> None:
    """Let a host of each zone stand by, nearly empty and as large as any that is on: then failures pack.

    Plans need not be so; it is asked for only where a question is squeezed until its pools pack.
    """
    squeeze, program = model.problem.squeeze + SMALL, model.program
    waits = {slot.key: program.binary(f"stands by:{slot.key}") for slot in hosts}
    for slot in hosts:
        mates = [other for other in hosts if None in (slot.zone, other.zone) or slot.zone == other.zone]
        able = [(waits[other.key], float(slot.units)) for other in mates if _as_large(model, other, slot)]
        row = program.total([*able, (model.on[slot.key], -1.0)]) >= 0
        program.row(f"one stands by:{slot.key}", row)
        program.row(f"stands by if on:{slot.key}", waits[slot.key] <= model.on[slot.key])
        items = [item for item, _ in model.placed(slot)]
        for resource in RESOURCES:
            room = usable(model, slot, resource)
            there = [
                (model.on[slot.key], (1.0 - squeeze) * room),
                (waits[slot.key], (2.0 * squeeze - 1.0) * room),
            ]
            for hour in binding_hours(model.problem.site.slots, items, resource):
                taken = [(v, -needed(model, slot, resource, item, hour)) for item, v in model.placed(slot)]
                program.row(
                    f"nearly empty:{resource}/{slot.key}@{hour}", program.total([*there, *taken]) >= 0
                )


def _as_large(model: Model, one: Slot, other: Slot) -> bool:
    return all(usable(model, one, resource) >= usable(model, other, resource) for resource in RESOURCES)


def _some(model: Model, slot: Slot) -> pulp.LpVariable:
    """Give the variable that is 1 where any unit of a slot is on, made once."""
    if slot.units == 1:
        return model.on[slot.key]
    name = f"some:{slot.key}"
    if name not in model.counters:
        model.counters[name] = some = model.program.binary(name)
        row = model.program.total([(model.on[slot.key], 1.0), (some, -float(slot.units))]) <= 0
        model.program.row(name, row)
    return model.counters[name]


class _Loss:
    """The loss of one host written out: every part that may be on it restarts on another."""

    def __init__(self, model: Model, lost: Slot, hosts: Sequence[Slot], parts: Sequence[Item]) -> None:
        self.model, self.lost = model, lost
        self.parts = [part for part in parts if (part.index, lost.key) in model.place]
        self.left = [slot for slot in hosts if slot is not lost and slot.name != lost.name]
        self.restart = {
            (part.index, slot.key): model.program.binary(f"lost:{lost.key}/{part.name}>{slot.key}")
            for part in self.parts
            for slot in self.left
            if may_restart(model, part, slot)
        }

    def add(self) -> None:
        """Add all rows of this loss."""
        for part in self.parts:
            there = [(v, 1.0) for (index, _), v in self.restart.items() if index == part.index]
            gone = self.model.place[part.index, self.lost.key]
            row = self.model.program.total([*there, (gone, -1.0)]) >= 0
            self.model.program.row(f"lost:{self.lost.key}/restart:{part.name}", row)
        for slot in self.left:
            here = [part for part in self.parts if (part.index, slot.key) in self.restart]
            for part in here:
                row = self.restart[part.index, slot.key] <= self.model.on[slot.key]
                self.model.program.row(f"lost:{self.lost.key}/on:{part.name}@{slot.key}", row)
            if here:
                self._room(slot, here)
                self._apart(slot, here)
                self._zones(slot, here)

    def _room(self, slot: Slot, here: Sequence[Item]) -> None:
        model = self.model
        placed = [*model.placed(slot), *((part, self.restart[part.index, slot.key]) for part in here)]
        items = [item for item, _ in placed]
        for resource in RESOURCES:
            room = usable(model, slot, resource)
            for hour in binding_hours(model.problem.site.slots, items, resource):
                terms = [(v, needed(model, slot, resource, item, hour)) for item, v in placed]
                if sum(amount for _, amount in terms) > room:
                    row = model.program.total([*terms, (model.on[slot.key], -room)]) <= 0
                    model.program.row(f"lost:{self.lost.key}/{resource}:{slot.key}@{hour}", row)

    def _apart(self, slot: Slot, here: Sequence[Item]) -> None:
        for number, rule in enumerate(self.model.problem.site.apart):
            placed = [*self.model.placed(slot), *((p, self.restart[p.index, slot.key]) for p in here)]
            terms = [(v, 1.0) for item, v in placed if any(s.name in rule.services for s in item.services)]
            if len(terms) > 1:
                row = self.model.program.total([*terms, (self.model.on[slot.key], -1.0)]) <= 0
                self.model.program.row(f"lost:{self.lost.key}/apart {number}:{slot.key}", row)

    def _zones(self, slot: Slot, here: Sequence[Item]) -> None:
        program, key = self.model.program, f"{self.lost.key}/{slot.key}"
        placed = [*self.model.placed(slot), *((p, self.restart[p.index, slot.key]) for p in here)]
        zones = sorted({service.zone for item, _ in placed for service in item.services})
        if len(zones) <= slot.spec.zones:
            return
        flags = {zone: program.continuous(f"lost:{key}/zone:{zone}") for zone in zones}
        for number, (item, variable) in enumerate(placed):
            for zone in sorted({service.zone for service in item.services}):
                program.row(f"lost:{key}/zone:{zone}/{number}", variable <= flags[zone])
        used = program.total([(flag, 1.0) for flag in flags.values()])
        program.row(f"lost:{key}/zones", used <= slot.spec.zones)


def written_out(model: Model, lost: Sequence[str], most: int) -> tuple[frozenset[str], frozenset[str]]:
    """Give the host kinds to write out unit by unit, or else the host slots whose loss to write out whole.

    Neither where a kind's items times units are over ``most``. ``lost``: names of hosts whose loss fails;
    where those are written out already, all are.
    """
    problem = model.problem
    hosts = [slot for slot in problem.slots if slot.is_host]
    pools = [slot for slot in hosts if not slot.is_box and slot.candidate.ref in problem.pooled]
    if pools:
        small = max(slot.units * len(problem.items_of(slot)) for slot in pools) <= most
        return frozenset(slot.candidate.ref for slot in pools if small), frozenset()
    named = frozenset(slot.key for slot in hosts if slot.name in lost)
    return frozenset(), named if named - problem.lost else frozenset(slot.key for slot in hosts)
