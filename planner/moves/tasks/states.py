"""The one place that says which state the room is in once some tasks are done.

A state depends on the set of tasks done and not on their order. Services of moves that are ``doing`` load
their old machine and their new one.
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass

from planner.domain.order import Sort, task_id
from planner.domain.state import Machine, State, role_today
from planner.ledger.sums import rack_u
from planner.moves.tasks.state_difference import Change


@dataclass(frozen=True)
class Moment:
    """A state with the rack units it takes, those of machines kept switched off included."""

    state: State
    rack_u: int


def moment(change: Change, done: Set[str], doing: Set[str] = frozenset()) -> Moment:
    """Build the moment at which the tasks in ``done`` are done; ids of moves in ``doing`` run twice."""
    state = state_at(change, done, doing)
    off = (box for box in change.held if is_off_but_there(change, box, done))
    return Moment(state, rack_u(change.site, state) + sum(change.site.box[box].spec.rack_u for box in off))


def is_off_but_there(change: Change, box: str, done: Set[str]) -> bool:
    """Say whether a box stands switched off in the rack for its rollback time."""
    if task_id(Sort.HOLD, box) not in done:
        return False
    last = Sort.REUSE if box in change.rebuilt else Sort.RETIRE
    return task_id(last, box) not in done


def state_at(change: Change, done: Set[str], doing: Set[str] = frozenset()) -> State:
    """Build the state in which the tasks in ``done`` are done: the target itself once nothing is left."""
    machines = tuple(_machines(change, done, doing))
    measures = frozenset(name for name in change.measures if task_id(Sort.MEASURE, name) in done)
    state = State(machines, measures, _cooling(change, done))
    return change.target if is_same(state, change.target) else state


def is_same(one: State, other: State) -> bool:
    """Say whether two states mean the same, whatever the order of their machines and services."""

    def plain(state: State) -> tuple[object, ...]:
        machines = {
            (item.name, item.role, item.circuit, frozenset(item.services), item.box, item.kind)
            for item in state.machines
        }
        running = {name: options for name, options in state.cooling.items() if options}
        return machines, state.measures, running

    return plain(one) == plain(other)


def _machines(change: Change, done: Set[str], doing: Set[str]) -> Iterator[Machine]:
    for machine in change.target.machines:
        if machine.box is not None:
            yield from _box(change, machine.box, done, doing)
        elif task_id(Sort.BRING_IN, machine.name) in done:
            arrived = tuple(name for name in machine.services if task_id(Sort.MOVE, name) in done)
            yield Machine(machine.name, machine.role, machine.circuit, arrived, kind=machine.kind)
    for box in change.leaving:
        yield from _box(change, box, done, doing)


def _box(change: Change, box: str, done: Set[str], doing: Set[str]) -> Iterator[Machine]:
    then = change.kept.get(box)
    is_rebuilt = box in change.rebuilt and task_id(Sort.REUSE, box) in done
    if task_id(Sort.HOLD, box) in done and not is_rebuilt:
        return
    arrived = tuple(name for name in (then.services if then else ()) if _has_come(change, name, done))
    staying = tuple(
        name
        for name in change.residents[box]
        if name not in arrived and (not is_rebuilt or name not in doing) and not _is_gone(name, done, doing)
    )
    replugged = task_id(Sort.REPLUG, box) in done
    circuit = then.circuit if then is not None and (is_rebuilt or replugged) else change.site.box[box].circuit
    role = then.role if then is not None and is_rebuilt else role_today(change.site, box)
    yield Machine(box, role, circuit, (*arrived, *staying), box=box)


def _has_come(change: Change, service: str, done: Set[str]) -> bool:
    return service not in change.moved or task_id(Sort.MOVE, service) in done


def _is_gone(service: str, done: Set[str], doing: Set[str]) -> bool:
    moved = task_id(Sort.MOVE, service)
    return moved in done and moved not in doing


def _cooling(change: Change, done: Set[str]) -> dict[str, frozenset[str]]:
    added = {name for name in change.cooling_on if task_id(Sort.COOLING_ON, name) in done}
    stopped = {name for name in change.cooling_off if task_id(Sort.COOLING_OFF, name) in done}
    none: frozenset[str] = frozenset()
    found: dict[str, frozenset[str]] = {}
    for season in change.site.seasons:
        today = change.today.cooling[season.name]
        then = change.target.cooling.get(season.name, none)
        found[season.name] = frozenset((today | (then & added)) - (stopped - then))
    return found
