"""Walks an order task by task against the raw site and judges every state on the way.

It knows neither the links nor the states that made the order: it keeps its own picture of the room, so that
it can disagree. What it needs of an order is its waves' numbers, dates and tasks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import combinations

from planner.facts import BACKUP_ROLE, DAY_H, DIRECTORY_ROLES, HOLD_DAYS
from planner.ledger.sums import rack_u
from planner.moves.wave import Order, Wave
from planner.order import Sort, Task
from planner.site import Site
from planner.state import Machine, State, state_today
from planner.verify import Breach, verify_state

SWITCHING = frozenset({Sort.MEASURE, Sort.COOLING_ON, Sort.COOLING_OFF})
"""What may be done in one go: only the state after such tasks in a row is judged."""

OF_TODAY = frozenset({"physical", "needs"})
"""Rules that a service may break where it runs today, until the wave that moves it is over."""


@dataclass
class Picture:
    """The room as it is at one moment, by machine name, and what is remembered of the way there."""

    site: Site
    target: State
    on: dict[str, Machine]
    cooling: dict[str, frozenset[str]]
    measures: frozenset[str] = frozenset()
    held: dict[str, int] = field(default_factory=dict)
    came: dict[str, int] = field(default_factory=dict)
    moved: dict[str, int] = field(default_factory=dict)
    backed_up: set[str] = field(default_factory=set)

    @property
    def state(self) -> State:
        """The state of the moment."""
        return State(tuple(self.on.values()), self.measures, self.cooling)

    def goal(self, name: str) -> Machine:
        """Give a machine of the target by name."""
        return next(machine for machine in self.target.machines if machine.name == name)

    def goal_of(self, service: str) -> Machine:
        """Give the machine that carries a service in the target."""
        return self.target.where(service)[0]


def walk(site: Site, target: State, order: Order) -> tuple[Breach, ...]:
    """Give all that an order does wrong, none for a good one; limits today passes are not blamed."""
    today = state_today(site)
    room = Picture(site, target, {m.name: m for m in today.machines}, dict(today.cooling))
    found: list[Breach] = []
    for wave in order.waves:
        found += _wave(room, wave, order)
    if _plain(room.state) != _plain(target):
        found.append(Breach("target", site.name, "the last wave does not end in the target"))
    return tuple(dict.fromkeys(found))


def _plain(state: State) -> tuple[object, ...]:
    machines = frozenset(
        (m.name, m.role, m.circuit, frozenset(m.services), m.box, m.kind) for m in state.machines
    )
    return machines, state.measures, {name: names for name, names in state.cooling.items() if names}


def _wave(room: Picture, wave: Wave, order: Order) -> Iterator[Breach]:
    yield from _company(room, wave, order)
    yield from _time(wave)
    following = [*wave.tasks[1:], None]
    for task, after in zip(wave.tasks, following, strict=True):
        yield from _DONE[task.sort](room, task, wave, order)
        if after is None or not {task.sort, after.sort} <= SWITCHING:
            yield from _judged(room, wave)
    for name in wave.moves:
        _let_go(room, name)
    yield from _judged(room, wave)


def _judged(room: Picture, wave: Wave) -> Iterator[Breach]:
    for breach in verify_state(room.site, room.state, allow_double=True):
        if breach.rule in OF_TODAY and room.moved.get(breach.where, wave.number) == wave.number:
            continue
        yield Breach(breach.rule, breach.where, f"in wave {wave.number} {breach.message}")
    most = room.site.room.rack_u
    off = sum(room.site.box[box].spec.rack_u for box in room.held)
    taken = rack_u(room.site, room.state) + off
    if most is not None and off and taken > max(most, rack_u(room.site, state_today(room.site))):
        text = f"in wave {wave.number} the rack holds {taken} units with boxes kept for rollback, has {most}"
        yield Breach("rack", "rack", text)


def _let_go(room: Picture, service: str) -> None:
    """At the end of a wave the old machine carries the service no more."""
    goal = room.goal_of(service).name
    for name, machine in room.on.items():
        if name != goal and service in machine.services:
            room.on[name] = _without(machine, service)


def _without(machine: Machine, service: str) -> Machine:
    return replace(machine, services=tuple(name for name in machine.services if name != service))


def _company(room: Picture, wave: Wave, order: Order) -> Iterator[Breach]:
    """What must never move in one wave."""
    for service, number in room.moved.items():
        if room.site.service[service].roles & DIRECTORY_ROLES and not _is_after(order, number, wave, DAY_H):
            for name in wave.moves:
                if room.site.service[name].roles & DIRECTORY_ROLES:
                    yield Breach("directory", name, f"{name} moves less than a day after {service}")
    for one, other in combinations(wave.moves, 2):
        roles = [room.site.service[name].roles for name in (one, other)]
        if all(each & DIRECTORY_ROLES for each in roles):
            yield Breach(
                "directory", one, f"wave {wave.number} moves {one} and {other}, both directory servers"
            )
        if any(BACKUP_ROLE in each for each in roles):
            yield Breach("backup", one, f"wave {wave.number} moves {one} and {other}, one the other's backup")


def _time(wave: Wave) -> Iterator[Breach]:
    if wave.start is not None and wave.end is not None and wave.end <= wave.start:
        yield Breach("time", wave.name, f"wave {wave.number} ends before it starts")


Deed = Callable[[Picture, Task, Wave, Order], Iterator[Breach]]


def _bring_in(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    del wave, order
    if task.subject in room.on:
        yield Breach("bring in", task.subject, f"{task.subject} is there already")
    room.on[task.subject] = replace(room.goal(task.subject), services=())


def _prepare(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    del order
    if task.subject not in room.on:
        yield Breach("prepare", task.subject, f"{task.subject} is prepared before it is there")
    room.came[task.subject] = wave.number


def _reuse(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    box, since = task.subject, room.held.pop(task.subject, None)
    if since is not None and not _kept_long_enough(order, since, wave):
        yield Breach("hold", box, f"{box} is rebuilt in wave {wave.number}, before its rollback deadline")
    here = room.on.get(box)
    left = here.services if here is not None else ()
    for name in left:
        if room.goal_of(name).name != box:
            yield Breach("rebuild", box, f"{box} is rebuilt while {name} is on it")
        if name not in room.backed_up:
            yield Breach("backup", name, f"{box} is rebuilt before {name} is backed up")
    room.on[box] = replace(room.goal(box), services=left)
    room.came[box] = wave.number


def _is_after(order: Order, since: int, wave: Wave, hours: float) -> bool:
    """Say whether a wave comes so many hours after another one; without dates, after it at all."""
    end: datetime | None = order.waves[since - 1].end
    if end is None or wave.start is None:
        return wave.number > since
    return wave.number > since and wave.start - end >= timedelta(hours=hours)


def _kept_long_enough(order: Order, since: int, wave: Wave) -> bool:
    return _is_after(order, since, wave, HOLD_DAYS * 24.0)


def _replug(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    del wave, order
    circuit = room.goal(task.subject).circuit
    room.on[task.subject] = replace(room.on[task.subject], circuit=circuit)
    yield from ()


def _back_up(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    del wave, order
    room.backed_up.add(task.subject)
    yield from ()


def _move(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    name, goal = task.subject, room.goal_of(task.subject)
    if name not in room.backed_up:
        yield Breach("backup", name, f"{name} moves before it is backed up")
    if goal.name not in room.on:
        yield Breach("move", name, f"{name} moves to {goal.name}, which is not on")
        return
    if goal.kind is not None and not _is_after(order, room.came.get(goal.name, wave.number), wave, DAY_H):
        yield Breach("soak", name, f"{name} moves to {goal.name} before that has soaked for a day")
    yield from _providers(room, task, wave, order)
    here = room.on[goal.name]
    if name not in here.services:
        room.on[goal.name] = replace(here, services=(*here.services, name))
    room.moved[name] = wave.number


def _providers(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    name = task.subject
    moving = {other.subject for each in order.waves for other in each.tasks if other.sort is Sort.MOVE}
    given_up = {edge for ring in order.cycles for edge in ring.broken} | {*order.given_up}
    rings = [frozenset(ring.services) for ring in order.cycles]
    for provider in room.site.service[name].depends_on:
        if provider not in moving or (name, provider) in given_up:
            continue
        in_ring = any({name, provider} <= ring for ring in rings)
        same_wave = any(t.sort is Sort.MOVE and t.subject == provider for t in wave.tasks)
        if provider not in room.moved and not (in_ring and same_wave):
            yield Breach("provider", name, f"{name} moves before {provider}, which it depends on")


def _hold(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    del order
    box = task.subject
    for name in room.on[box].services:
        if name not in room.moved:
            yield Breach("hold", box, f"{box} is switched off with {name} on it")
    del room.on[box]
    room.held[box] = wave.number


def _retire(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    since = room.held.pop(task.subject, None)
    if since is None:
        yield Breach("retire", task.subject, f"{task.subject} is taken out while it is on")
    elif not _kept_long_enough(order, since, wave):
        yield Breach("hold", task.subject, f"{task.subject} is taken out before its rollback deadline")


def _measure(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    del wave, order
    room.measures |= {task.subject}
    yield from ()


def _cooling(room: Picture, task: Task, wave: Wave, order: Order) -> Iterator[Breach]:
    del wave, order
    none: frozenset[str] = frozenset()
    for season, names in room.cooling.items():
        runs_then = task.subject in room.target.cooling.get(season, none)
        if task.sort is Sort.COOLING_ON and runs_then:
            room.cooling[season] = names | {task.subject}
        if task.sort is Sort.COOLING_OFF and not runs_then:
            room.cooling[season] = names - {task.subject}
    yield from ()


_DONE: dict[Sort, Deed] = {
    Sort.BRING_IN: _bring_in,
    Sort.COOLING_ON: _cooling,
    Sort.PREPARE: _prepare,
    Sort.REUSE: _reuse,
    Sort.REPLUG: _replug,
    Sort.BACK_UP: _back_up,
    Sort.MOVE: _move,
    Sort.HOLD: _hold,
    Sort.MEASURE: _measure,
    Sort.COOLING_OFF: _cooling,
    Sort.RETIRE: _retire,
}
