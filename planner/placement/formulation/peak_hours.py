"""Which hours of load bind: which are written from the start, and which an answer shows to be missing.

A week of load makes many rows of which few bind. The hours in which items take most are written; an answer
that overfills a machine in another hour brings that hour in, and the question is put again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from planner.capacity import overhead
from planner.domain.resources import RESOURCES
from planner.placement.formulation.assignment import Model
from planner.placement.formulation.problem import Item, Problem
from planner.placement.formulation.slots import Slot
from planner.placement.params import PARAMS
from planner.tolerances import exceeds

Loads = np.ndarray[tuple[int, int], np.dtype[np.float64]]
"""Hours by items."""


def binding_hours(hours: int, items: Sequence[Item], resource: str) -> list[int]:
    """Compute the hours to keep: an hour in which no item takes more than in another kept one cannot bind."""
    if hours == 1 or all(len(getattr(s.demand, resource)) == 1 for item in items for s in item.services):
        return [0]
    loads = profiles(hours, items, resource)
    kept: list[int] = []
    for hour in np.argsort(-loads.sum(axis=1), kind="stable").tolist():
        if not (loads[kept] >= loads[hour]).all(axis=1).any():
            kept.append(hour)
    return sorted(kept)


def profiles(hours: int, items: Sequence[Item], resource: str) -> Loads:
    """Compute what items take of a resource, hours by items."""
    loads = np.zeros((hours, len(items)))
    for index, item in enumerate(items):
        for service in item.services:
            loads[:, index] += np.asarray(getattr(service.demand, resource), float)
    return loads


def first_hours(problem: Problem) -> set[int] | None:
    """Choose the hours to write from the start, None for all: where they are few or a spare host is kept."""
    site = problem.site
    if site.slots <= PARAMS.formulation.many_hours or site.policy.spare_hosts:
        return None
    chosen = {0}
    for resource in RESOURCES:
        if any(len(getattr(service.demand, resource)) > 1 for service in site.services):
            chosen |= _covering(profiles(site.slots, problem.items, resource))
    return chosen


def _covering(loads: Loads) -> set[int]:
    """Choose the hour of the largest sum, then those that add most to the items' largest loads so far."""
    hour = int(np.argmax(loads.sum(axis=1)))
    chosen, most = {hour}, loads[hour]
    for _ in range(PARAMS.formulation.first_hours - 1):
        more = np.maximum(loads - most, 0.0).sum(axis=1)
        hour = int(np.argmax(more))
        if more[hour] <= 0.0:
            break
        chosen.add(hour)
        most = np.maximum(most, loads[hour])
    return chosen


def overfull_hours(model: Model, values: Mapping[str, float]) -> set[int]:
    """Find hours not written yet in which an answer overfills a slot: the worst of each slot and resource."""
    if model.hours is None:
        return set()
    found = set()
    for slot in model.problem.slots:
        if values[model.on[slot.key].name] > 0.5:
            for resource in RESOURCES:
                hour = _worst_hour(model, slot, resource, values)
                if hour is not None:
                    found.add(hour)
    return found - model.hours


def _worst_hour(model: Model, slot: Slot, resource: str, values: Mapping[str, float]) -> int | None:
    """Find the hour in which a slot is fullest, if that is over what it has."""
    site = model.problem.site
    carried = [item for item, variable in model.placed(slot) if values[variable.name] > 0.5]
    taken = profiles(site.slots, carried, resource).sum(axis=1)
    guests = sum(len(item.services) for item in carried)
    loads = overhead(site, slot.candidate.role, resource).added(taken, guests)
    squeezed = 1.0 - (model.problem.squeeze if slot.units > 1 and slot.is_host else 0.0)
    room = model.problem.usable(slot, resource) * squeezed * values[model.on[slot.key].name]
    hour = int(np.argmax(loads))
    return hour if exceeds(float(loads[hour]), room) else None
