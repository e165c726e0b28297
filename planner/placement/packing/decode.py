"""From a solution's values to a state: pools are packed into units, which may show that they do not fit."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, repeat

from planner.domain.state import Machine, State, unit_names
from planner.placement.failover.rebalance import rebalance
from planner.placement.failover.restart import failing
from planner.placement.formulation import Model
from planner.placement.formulation.packing_cuts import Cut
from planner.placement.formulation.problem import Item
from planner.placement.formulation.slots import Slot
from planner.placement.packing.pools import instance_of, pack_slot
from planner.placement.packing.reuse_matching import choose_boxes
from planner.placement.packing.vector_packing import Packed, pack_into_few
from planner.solver import Limits

Values = Mapping[str, float]

Unit = tuple[Slot, tuple[Item, ...], str]
"""A machine that is on: its slot, what it carries, and its circuit."""


@dataclass(frozen=True)
class PackingFailure:
    """A pool whose items did not pack into the units counted for them, and what was learnt of it."""

    slot: Slot
    items: tuple[Item, ...]
    count: int
    packed: Packed

    def cuts(self) -> list[Cut]:
        """Build the rows that this teaches; none where the packing was only not found."""
        found = []
        prices = self.packed.prices
        if prices is not None and sum(prices) > self.count + 1e-6:
            by_item = {item.index: price for item, price in zip(self.items, prices, strict=True)}
            found.append(Cut(self.slot.key, by_item))
        if self.packed.impossible:
            every = {item.index: 1.0 for item in self.items}
            least = self.count + 1.0 - len(self.items)
            found.append(Cut(self.slot.key, every, least, self.packed.sure))
        return found


@dataclass(frozen=True)
class Decoded:
    """A state, or the pools that did not pack, or the hosts whose loss does not."""

    state: State | None
    failures: tuple[PackingFailure, ...] = ()
    lost: tuple[tuple[str, ...], ...] = ()


def decode(
    model: Model,
    values: Values,
    limits: Limits,
    cancel: threading.Event | None = None,
    known: Mapping[str, Sequence[tuple[Item, ...]]] | None = None,
) -> Decoded:
    """Build the state that a solution describes; services and machines in the site's order.

    ``known``: units by the key of their slot, where a pool is packed already.
    """
    units: list[Unit] = []
    failures = []
    deadline = time.monotonic() + limits.time_s
    for slot in model.problem.slots:
        count = 0 if slot.box else _count(model, slot, values)
        if known is not None and slot.key in known:
            groups = list(known[slot.key])
            units += zip([slot] * len(groups), groups, _circuits(model, slot, values), strict=False)
        elif count:
            items = _carried(model, slot, values)
            left = replace(limits, time_s=deadline - time.monotonic())
            packed = pack_slot(model, slot, items, count, left, cancel)
            if packed.units is None:
                failures.append(PackingFailure(slot, tuple(items), count, packed))
            else:
                groups = [tuple(items[index] for index in unit) for unit in packed.units]
                units += zip([slot] * len(groups), groups, _circuits(model, slot, values), strict=False)
    if failures:
        return Decoded(None, tuple(failures))
    state = _state(model, values, units)
    if state is None:
        raise ValueError("a solution counts more alike boxes than there are")
    return _with_spare(model, state, limits, cancel)


def decode_with_more_units(
    model: Model, values: Values, limits: Limits, stop: Callable[[], bool]
) -> State | None:
    """Build a state with as many units as quick packing needs for what a solution puts into each pool.

    It may take more units than the solution counts, and so break a limit: the judge is to be asked. None
    where it takes more boxes than there are.
    """
    units: list[Unit] = []
    for slot in model.problem.slots:
        items = [] if slot.box else _carried(model, slot, values)
        if not items:
            continue
        groups: list[tuple[Item, ...]] = [(item,) for item in items]
        if slot.is_host:
            least = _count(model, slot, values)
            packed = pack_into_few(instance_of(model, slot, items), least, limits.seed, stop)
            groups = [tuple(items[index] for index in unit) for unit in packed]
        counted = _circuits(model, slot, values)
        circuits = chain(counted, repeat(slot.circuits[0]))
        units += [(slot, group, circuit) for group, circuit in zip(groups, circuits, strict=False)]
    return _state(model, values, units)


def _state(model: Model, values: Values, units: Sequence[Unit]) -> State | None:
    """Build the state of a solution whose pools are packed into units; None where boxes are too few."""
    kept = [
        (slot, tuple(_carried(model, slot, values)), slot.circuits[0])
        for slot in model.problem.slots
        if slot.box and _count(model, slot, values)
    ]
    machines = machines_of(model, [*kept, *units])
    return None if machines is None else State(machines, _measures(model, values), _cooling(model, values))


def _with_spare(model: Model, state: State, limits: Limits, cancel: threading.Event | None) -> Decoded:
    """Build a state whose failures pack where a spare host is asked for, or the hosts whose loss does not."""
    site = model.problem.site
    lost = failing(site, state, limits, cancel)
    if not lost:
        return Decoded(state)
    pools = (slots[0].alike for slots in model.problem.pools_of_boxes.values())
    alike = [frozenset(boxes.boxes) for boxes in pools if boxes is not None]
    other = rebalance(site, state, limits, cancel, alike)
    if other is not None and not failing(site, other, limits, cancel):
        return Decoded(other)
    return Decoded(None, lost=lost)


def _count(model: Model, slot: Slot, values: Values) -> int:
    return round(values[model.on[slot.key].name])


def _carried(model: Model, slot: Slot, values: Values) -> list[Item]:
    return [item for item, variable in model.placed(slot) if values[variable.name] > 0.5]


def _circuits(model: Model, slot: Slot, values: Values) -> list[str]:
    if len(slot.circuits) == 1:
        return [slot.circuits[0]] * _count(model, slot, values)
    counts = {name: round(values[model.plug[slot.key, name].name]) for name in slot.circuits}
    return [name for name, count in counts.items() for _ in range(count)]


def machines_of(model: Model, units: Sequence[Unit]) -> tuple[Machine, ...] | None:
    """Name what is on: boxes in the site's order, then units of kinds by the first item that they carry.

    Of alike boxes those are chosen on which least moves; None where there are fewer than are counted.
    """
    boxes = [unit for unit in units if unit[0].box]
    named = [(slot.candidate.ref, slot, items, circuit) for slot, items, circuit in boxes]
    taken = frozenset(name for name, *_ in named)
    for pool in model.problem.pools_of_boxes:
        chosen = _chosen_boxes(model, [unit for unit in units if unit[0].pool == pool], taken)
        if chosen is None:
            return None
        named += chosen
    order = {box.name: index for index, box in enumerate(model.problem.site.boxes)}
    named.sort(key=lambda each: order[each[0]])
    there = (_machine(model, slot, items, name, circuit) for name, slot, items, circuit in named)
    return (*there, *_named_units(model, [unit for unit in units if not unit[0].is_box]))


def _chosen_boxes(
    model: Model, units: Sequence[Unit], taken: frozenset[str]
) -> list[tuple[str, Slot, tuple[Item, ...], str]] | None:
    alike = units[0][0].alike if units else None
    if alike is None:
        return []
    loads = [(frozenset(s.name for item in items for s in item.services), on) for _, items, on in units]
    names = choose_boxes(model.problem.site, alike, taken, loads, model.previous)
    return None if names is None else [(name, *unit) for name, unit in zip(names, units, strict=True)]


def _named_units(model: Model, units: Sequence[Unit]) -> Iterator[Machine]:
    """Name units of a kind by counting them in the order of the first item they carry."""
    order = [kind.name for kind in model.problem.site.kinds]

    def place(unit: Unit) -> tuple[int, int]:
        return order.index(unit[0].candidate.ref), min((item.index for item in unit[1]), default=-1)

    site = model.problem.site
    names = {kind.name: unit_names(site, kind.name) for kind in site.kinds}
    for slot, items, circuit in sorted(units, key=place):
        yield _machine(model, slot, items, next(names[slot.candidate.ref]), circuit)


def _machine(model: Model, slot: Slot, items: Sequence[Item], name: str, circuit: str) -> Machine:
    carried = {service.name for item in items for service in item.services}
    services = tuple(service.name for service in model.problem.site.services if service.name in carried)
    box = name if slot.is_box else None
    return Machine(name, slot.candidate.role, circuit, services, box, None if box else slot.candidate.ref)


def _measures(model: Model, values: Values) -> frozenset[str]:
    return frozenset(name for name, taken in model.take.items() if values[taken.name] > 0.5)


def _cooling(model: Model, values: Values) -> dict[str, frozenset[str]]:
    runs = [key for key, variable in model.run.items() if values[variable.name] > 0.5]
    return {
        season.name: frozenset(name for name, when in runs if when == season.name)
        for season in model.problem.site.seasons
    }
