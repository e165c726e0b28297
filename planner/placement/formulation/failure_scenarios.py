"""A loss of hosts written out whole: who of their guests restarts where, by every rule."""

from __future__ import annotations

from collections.abc import Sequence

from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.resources import RESOURCES
from planner.placement.formulation.assignment import Model
from planner.placement.formulation.peak_hours import binding_hours
from planner.placement.formulation.problem import Item
from planner.placement.formulation.slots import Slot
from planner.tolerances import exceeds


def restarting(item: Item) -> Item | None:
    """Compute the part of an item that restarts elsewhere when its host is lost; None where nothing does.

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
        not exceeds(
            model.problem.needed(slot, [part], resource, hour)[0], model.problem.usable(slot, resource)
        )
        for resource in RESOURCES
        for hour in binding_hours(model.problem.site.slots, [part], resource)
    )


class WrittenOut:
    """A loss of hosts at once written out: every part that may be on them restarts on another."""

    def __init__(
        self, model: Model, lost: tuple[Slot, ...], hosts: Sequence[Slot], parts: Sequence[Item]
    ) -> None:
        self.model, self.lost = model, lost
        self.called = f"lost:{'+'.join(slot.key for slot in lost)}"
        self.parts = [part for part in parts if any((part.index, slot.key) in model.place for slot in lost)]
        gone = {slot.name for slot in lost}
        self.left = [slot for slot in hosts if slot.name not in gone]
        self.restart = {
            (part.index, slot.key): model.program.binary(f"{self.called}/{part.name}>{slot.key}")
            for part in self.parts
            for slot in self.left
            if may_restart(model, part, slot)
        }

    def add(self) -> None:
        """Add all rows of this loss."""
        for part in self.parts:
            there = [(v, 1.0) for (index, _), v in self.restart.items() if index == part.index]
            places = (self.model.place.get((part.index, slot.key)) for slot in self.lost)
            gone = [(place, -1.0) for place in places if place is not None]
            row = self.model.program.total([*there, *gone]) >= 0
            lost = tuple(slot.place for slot in self.lost)
            about = Conflict(Rule.RESTART, part.names, lost=lost, shown=Shown.AFTER_LOSS)
            self.model.program.row(f"{self.called}/restart:{part.name}", row, about)
        for slot in self.left:
            here = [part for part in self.parts if (part.index, slot.key) in self.restart]
            for part in here:
                row = self.restart[part.index, slot.key] <= self.model.on[slot.key]
                self.model.program.row(f"{self.called}/on:{part.name}@{slot.key}", row)
            if here:
                self._room(slot, here)
                self._apart(slot, here)
                self._zones(slot, here)

    def _room(self, slot: Slot, here: Sequence[Item]) -> None:
        model = self.model
        placed = [*model.placed(slot), *((part, self.restart[part.index, slot.key]) for part in here)]
        items = [item for item, _ in placed]
        for resource in RESOURCES:
            room = model.problem.usable(slot, resource)
            for hour in binding_hours(model.problem.site.slots, items, resource):
                needed = model.problem.needed(slot, items, resource, hour)
                if sum(needed) > room:
                    terms = [(v, amount) for (_, v), amount in zip(placed, needed, strict=True)]
                    row = model.program.total([*terms, (model.on[slot.key], -room)]) <= 0
                    model.program.row(f"{self.called}/{resource}:{slot.key}@{hour}", row)

    def _apart(self, slot: Slot, here: Sequence[Item]) -> None:
        for number, rule in enumerate(self.model.problem.site.apart):
            placed = [*self.model.placed(slot), *((p, self.restart[p.index, slot.key]) for p in here)]
            terms = [(v, 1.0) for item, v in placed if any(s.name in rule.services for s in item.services)]
            if len(terms) > 1:
                row = self.model.program.total([*terms, (self.model.on[slot.key], -1.0)]) <= 0
                self.model.program.row(f"{self.called}/apart {number}:{slot.key}", row)

    def _zones(self, slot: Slot, here: Sequence[Item]) -> None:
        program, key = self.model.program, f"{self.called}/{slot.key}"
        placed = [*self.model.placed(slot), *((p, self.restart[p.index, slot.key]) for p in here)]
        zones = sorted({service.zone for item, _ in placed for service in item.services})
        if len(zones) <= slot.spec.zones:
            return
        flags = {zone: program.continuous(f"{key}/zone:{zone}") for zone in zones}
        for number, (item, variable) in enumerate(placed):
            for zone in sorted({service.zone for service in item.services}):
                program.row(f"{key}/zone:{zone}/{number}", variable <= flags[zone])
        used = program.total([(flag, 1.0) for flag in flags.values()])
        program.row(f"{key}/zones", used <= slot.spec.zones)
