"""Which hours of load are written from the start, and which an answer shows to be missing.

A week of load makes many rows of which few bind. The hours in which items take most are written; an answer
that overfills a machine in another hour brings that hour in, and the question is put again.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from planner.domain.services import RESOURCES
from planner.placement.formulation.assignment import Model
from planner.placement.formulation.capacity_rows import Loads, profiles, usable
from planner.placement.formulation.problem import Problem, Slot
from planner.tolerances import exceeds

MANY = 12
"""Hours of load above which not all are written from the start."""

FIRST = 4
"""Hours written from the start for each resource."""


def first_hours(problem: Problem) -> set[int] | None:
    """Give the hours to write from the start, None for all: where they are few or a spare host is kept."""
    site = problem.site
    if site.slots <= MANY or site.policy.spare_hosts:
        return None
    chosen = {0}
    for resource in RESOURCES:
        if any(len(getattr(service.demand, resource)) > 1 for service in site.services):
            chosen |= _covering(profiles(site.slots, problem.items, resource))
    return chosen


def _covering(loads: Loads) -> set[int]:
    """Give the hour of the largest sum, then those that add most to the items' largest loads so far."""
    hour = int(np.argmax(loads.sum(axis=1)))
    chosen, most = {hour}, loads[hour]
    for _ in range(FIRST - 1):
        more = np.maximum(loads - most, 0.0).sum(axis=1)
        hour = int(np.argmax(more))
        if more[hour] <= 0.0:
            break
        chosen.add(hour)
        most = np.maximum(most, loads[hour])
    return chosen


def overfull_hours(model: Model, values: Mapping[str, float]) -> set[int]:
    """Give hours not written yet in which an answer overfills a slot: the worst of each slot and resource."""
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
    """Give the hour in which a slot is fullest, if that is over what it has."""
    if resource == "vcpu" and not slot.is_host:
        return None
    policy = model.problem.site.policy
    carried = [item for item, variable in model.placed(slot) if values[variable.name] > 0.5]
    loads = profiles(model.problem.site.slots, carried, resource).sum(axis=1)
    if slot.is_host and resource == "cpu":
        loads *= 1.0 + policy.host_cpu_share
    if slot.is_host and resource == "memory_gib":
        loads += policy.guest_memory_gib * sum(len(item.services) for item in carried)
    squeezed = 1.0 - (model.problem.squeeze if slot.units > 1 and slot.is_host else 0.0)
    room = usable(model, slot, resource) * squeezed * values[model.on[slot.key].name]
    hour = int(np.argmax(loads))
    return hour if exceeds(float(loads[hour]), room) else None
