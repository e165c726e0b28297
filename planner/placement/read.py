"""From a solution's values to a state, and from a state to values that a solve can start from."""

from __future__ import annotations

from collections.abc import Mapping

from planner.placement.model import Model
from planner.placement.problem import Slot
from planner.state import Machine, State


def read_state(model: Model, values: Mapping[str, float]) -> State:
    """Give the state that a solution describes; services and machines in the site's order."""
    machines = tuple(
        _machine(model, slot, values) for slot in model.problem.slots if values[model.on[slot.key].name] > 0.5
    )
    measures = frozenset(name for name, taken in model.take.items() if values[taken.name] > 0.5)
    cooling = {
        season.name: frozenset(
            name
            for (name, when), runs in model.run.items()
            if when == season.name and values[runs.name] > 0.5
        )
        for season in model.problem.site.seasons
    }
    return State(machines, measures, cooling)


def _machine(model: Model, slot: Slot, values: Mapping[str, float]) -> Machine:
    carried = {
        service.name
        for item, variable in model.placed(slot)
        if values[variable.name] > 0.5
        for service in item.services
    }
    services = tuple(service.name for service in model.problem.site.services if service.name in carried)
    plugged = [
        name
        for name in slot.circuits
        if len(slot.circuits) == 1 or slot.is_box or _plugged(model, slot, name, values)
    ]
    return Machine(
        name=slot.name,
        role=slot.candidate.role,
        circuit=plugged[0],
        services=services,
        box=slot.candidate.ref if slot.is_box else None,
        kind=None if slot.is_box else slot.candidate.ref,
    )


def _plugged(model: Model, slot: Slot, circuit: str, values: Mapping[str, float]) -> bool:
    return values[model.plug[slot.key, circuit].name] > 0.5


def start_values(model: Model, state: State) -> dict[str, float]:
    """Give values for the placement variables of a state; the solver completes the others.

    Units of a kind are numbered anew as the model orders them: by the first item they carry.
    """
    by_key = {key: machine for machine, key in _slot_keys(model, state)}
    values: dict[str, float] = {}
    for slot in model.problem.slots:
        machine = by_key.get(slot.key)
        values[model.on[slot.key].name] = 0.0 if machine is None else 1.0
        carried = frozenset(machine.services) if machine is not None else frozenset()
        for item, variable in model.placed(slot):
            values[variable.name] = float(item.services[0].name in carried)
    return values


def _slot_keys(model: Model, state: State) -> list[tuple[Machine, str]]:
    order = {service.name: item.index for item in model.problem.items for service in item.services}
    keys = {slot.key for slot in model.problem.slots}
    found: list[tuple[Machine, str]] = []
    used: dict[str, int] = {}
    for machine in sorted(state.machines, key=lambda m: min((order[s] for s in m.services), default=-1)):
        if machine.box is not None:
            host_key = f"{machine.box}@host"
            plain = not (machine.role == "host" and host_key in keys)
            found.append((machine, machine.box if plain else host_key))
        else:
            kind = machine.kind or ""
            used[kind] = used.get(kind, 0) + 1
            found.append((machine, f"{kind}-{used[kind]}"))
    return found
