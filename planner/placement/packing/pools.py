"""What a pool holds, as sizes to pack, and its packing into units that also keep to their zones.

Why so: the largest zones may be on every unit, the others shun each other. That is no proof when it fails,
but hardly a pool has to be written out any more, which was most of the time of planning again.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.domain.machines import Role
from planner.domain.resources import RESOURCES
from planner.placement.formulation import Model
from planner.placement.formulation.peak_hours import binding_hours
from planner.placement.formulation.problem import Item
from planner.placement.formulation.slots import Slot
from planner.placement.packing.reserve_hosts import pack_into_with_reserve
from planner.placement.packing.vector_packing import Packed, pack
from planner.placement.pool_instance import PoolInstance
from planner.solver import Limits


def pack_slot(
    model: Model,
    slot: Slot,
    items: Sequence[Item],
    count: int,
    limits: Limits,
    cancel: threading.Event | None = None,
) -> Packed:
    """Pack a slot's items (by their place in ``items``) into ``count`` units."""
    if slot.units == 1 and count == 1 and not slot.pool:
        return Packed((tuple(range(len(items))),))
    if slot.candidate.role is not Role.HOST:
        return Packed(tuple((index,) for index in range(len(items))))
    instance = instance_of(model, slot, items)
    spare = model.problem.site.policy.spare_hosts
    zones = [frozenset(service.zone for service in item.services) for item in items]
    if len(frozenset().union(*zones)) > slot.spec.zones:
        return packed_by_zone(instance, zones, slot.spec.zones, count, limits, spare, cancel)
    return _packed(instance, count, limits, spare, cancel)


def _packed(
    instance: PoolInstance, count: int, limits: Limits, spare: int, cancel: threading.Event | None
) -> Packed:
    packed = pack_into_with_reserve(instance, count, spare, limits, cancel) if spare else None
    return packed or pack(instance, count, limits, cancel)


def packed_by_zone(
    instance: PoolInstance,
    zones: Sequence[frozenset[str]],
    most: int,
    count: int,
    limits: Limits,
    spare: int = 0,
    cancel: threading.Event | None = None,
) -> Packed:
    """Pack items, whose zones are given, into units that mix at most ``most`` zones.

    Zones held apart are tried first: quickly, and in earnest where packing without a thought of zones gave
    units that mix too many. That gives no proof, for a mix might have packed.
    """
    apart = PoolInstance(instance.sizes, _shunning(instance, zones, most))

    def keeps(packed: Packed) -> bool:
        return all(len(frozenset().union(*(zones[i] for i in unit))) <= most for unit in packed.units or ())

    quickly = _packed(apart, count, replace(limits, time_s=0.0), spare, cancel)
    if quickly.units is not None and keeps(quickly):
        return quickly
    packed = _packed(instance, count, limits, spare, cancel)
    if keeps(packed):
        return packed
    earnest = _packed(apart, count, limits, spare, cancel)
    return Packed(earnest.units if keeps(earnest) else None)


def _shunning(
    instance: PoolInstance, zones: Sequence[frozenset[str]], most: int
) -> dict[int, frozenset[int]]:
    """Compute conflicts by which the largest zones, one less than may mix, go anywhere, others stay apart."""
    size: dict[str, float] = dict.fromkeys(sorted(frozenset().union(*zones)), 0.0)
    for index, names in enumerate(zones):
        for name in names:
            size[name] += float(instance.sizes[index].sum())
    anywhere = set(sorted(size, key=lambda name: -size[name])[: most - 1])
    own = [names - anywhere for names in zones]
    return {
        index: instance.conflicts_of(index)
        | {other for other, theirs in enumerate(own) if mine and theirs and theirs != mine}
        for index, mine in enumerate(own)
    }


def instance_of(model: Model, slot: Slot, items: Sequence[Item]) -> PoolInstance:
    """Build the instance of items on a slot: shares of a unit in every resource and hour that can bind."""
    columns = []
    for resource in RESOURCES:
        capacity = model.problem.usable(slot, resource)
        for hour in binding_hours(model.problem.site.slots, items, resource):
            column = model.problem.needed(slot, items, resource, hour)
            if sum(column) > capacity:
                columns.append([size / capacity if capacity > 0 else 2.0 * (size > 0) for size in column])
    sizes = np.array(columns, float).T if columns else np.zeros((len(items), 1))
    return PoolInstance(sizes, _conflicts(model, items))


def _conflicts(model: Model, items: Sequence[Item]) -> dict[int, frozenset[int]]:
    place = {service.name: index for index, item in enumerate(items) for service in item.services}
    conflicts: dict[int, set[int]] = {}
    for rule in model.problem.site.apart:
        here = {place[name] for name in rule.services if name in place}
        for index in here:
            conflicts.setdefault(index, set()).update(here - {index})
    return {index: frozenset(others) for index, others in conflicts.items()}
