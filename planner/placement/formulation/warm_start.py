"""Start values for the solver: the placement variables of a state (warm start)."""

from __future__ import annotations

from planner.domain.state import Machine, State
from planner.placement.formulation import Model
from planner.placement.formulation.problem import Problem
from planner.placement.formulation.slots import Slot


def start_values(model: Model, state: State) -> dict[str, float]:
    """Build values for the placement variables of a state; the solver completes the others."""
    on: dict[str, float] = {slot.key: 0.0 for slot in model.problem.slots}
    place: dict[tuple[int, str], float] = dict.fromkeys(model.place, 0.0)
    order = {service.name: item.index for item in model.problem.items for service in item.services}
    machines = sorted(state.machines, key=lambda m: min((order[s] for s in m.services), default=-1))
    used: dict[str, int] = {}
    for machine in machines:
        slot = _slot_of(model.problem, machine, used)
        if slot is None:
            continue
        on[slot.key] += 1.0
        for service in machine.services:
            if (order[service], slot.key) in place:
                place[order[service], slot.key] = 1.0
    values = {model.on[key].name: value for key, value in on.items()}
    return values | {model.place[pair].name: value for pair, value in place.items()}


def _slot_of(problem: Problem, machine: Machine, used: dict[str, int]) -> Slot | None:
    """Look up the slot that a machine is; ``used`` counts the units of kinds that are written one by one."""
    ref = machine.box or machine.kind or ""
    slots = problem.slots_by_machine.get((ref, machine.role), ())
    if machine.kind is not None and slots and not slots[0].pool:
        used[ref] = used.get(ref, 0) + 1
        return slots[used[ref] - 1] if used[ref] <= len(slots) else None
    zones = {problem.site.service[name].zone for name in machine.services}
    return next((slot for slot in slots if slot.zone is None or slot.zone == min(zones, default="")), None)
