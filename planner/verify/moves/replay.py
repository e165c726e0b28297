"""Walks an order task by task against the raw site and judges every state on the way.

It knows neither the links nor the states that made the order: it keeps its own simulated room, so that
it can disagree. An order may come from a file that a person has changed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from planner.domain.order import Figures, Sort, WrittenOrder, WrittenWave, figures_of
from planner.domain.practice import HOLD_DAYS
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import ledger
from planner.ledger.sums import rack_u
from planner.verify.moves.conflicts import co_scheduling, providers, rings
from planner.verify.moves.effects import TASK_EFFECTS, known
from planner.verify.moves.room import Seen, SimulatedRoom, Walked
from planner.verify.moves.timing import downtime, money, timing
from planner.verify.plan.judge import verify_state
from planner.verify.trial import Breach, Room, exceeds, number

SWITCHING = frozenset({Sort.MEASURE, Sort.COOLING_ON, Sort.COOLING_OFF})
"""What may be done in one go: only the state after such tasks in a row is judged."""

OF_TODAY = frozenset({"physical", "needs"})
"""Rules that a service may break where it runs today, until the wave that moves it is over."""

ROUNDED = 0.06
"""How far figures on paper, which have one decimal, may lie from what they stand for."""


def verify_order(site: Site, target: State, order: WrittenOrder) -> tuple[Breach, ...]:
    """List all that an order does wrong, none for a good one; limits that today passes are not blamed.

    What stands already cannot be done otherwise: it is walked, but not blamed for its hours or its states.
    ``target`` is the state that it must end in, a good one of the site.
    """
    room = simulate_today(site, target, order)
    found = [*rings(room), *_once(order), *money(room)]
    for before, wave in zip((None, *order.waves), order.waves, strict=False):
        room, here = after_wave(room, wave, before)
        found += here
    found += _end(room)
    return tuple(dict.fromkeys(found))


def simulate_today(site: Site, target: State, order: WrittenOrder) -> SimulatedRoom:
    """Build the room in which an order begins; of the order it takes what it moves and gives up."""
    today = state_today(site)
    return SimulatedRoom(site, target, order, {m.name: m for m in today.machines}, dict(today.cooling))


def after_wave(
    room: SimulatedRoom, wave: WrittenWave, before: WrittenWave | None
) -> tuple[SimulatedRoom, tuple[Breach, ...]]:
    """Walk one wave: the room after it, and what it does wrong; the room before it is left as it is.

    What an order does wrong as a whole (money by month, tasks done twice, where it ends) is not asked here.
    """
    after = room.copy()
    found = [*timing(after, wave, before), *_wave(after, wave)]
    return after, tuple(breach for breach in found if not wave.is_past or breach.rule == Walked.KNOWN)


def _once(order: WrittenOrder) -> Iterator[Breach]:
    counts = Counter(task.id for wave in order.waves for task in wave.tasks)
    for name, count in counts.items():
        if count > 1:
            yield Breach(Walked.ONCE, name, f"'{name}' is done {count} times")


def _wave(room: SimulatedRoom, wave: WrittenWave) -> Iterator[Breach]:
    yield from co_scheduling(room, wave)
    tasks = []
    for task in wave.tasks:
        if known(room, task):
            tasks.append(task)
        else:
            text = f"'{task.id}' in wave {wave.number}: the plan has no {task.subject} to do that with"
            yield Breach(Walked.KNOWN, task.id, text)
    for task, after in zip(tasks, [*tasks[1:], None], strict=False):
        if task.sort is Sort.MOVE:
            yield from providers(room, task, wave)
            yield from downtime(room, task)
        yield from TASK_EFFECTS[task.sort](room, task, wave)
        if after is None or not {task.sort, after.sort} <= SWITCHING:
            yield from _judged(room, wave)
    for name in wave.moves:
        if name in room.moved:
            room.let_go(name)
    yield from _judged(room, wave)
    yield from _figures(room, wave)


def _judged(room: SimulatedRoom, wave: WrittenWave) -> Iterator[Breach]:
    """Judge the state of the moment, with what boxes kept switched off take and what starting asks."""
    seen = _seen(room)
    for breach in seen.breaches:
        if breach.rule in OF_TODAY and room.moved.get(breach.where, wave) is wave:
            continue
        yield Breach(breach.rule, breach.where, f"in wave {wave.number} {breach.message}")
    most, taken = room.site.room.rack_u, seen.rack_u + room.held_u
    if most is not None and room.held and taken > max(most, room.then.rack_u):
        text = f"in wave {wave.number} the rack holds {taken} units with boxes kept for rollback, has {most}"
        yield Breach(Walked.RACK, "rack", text)
    for name, asked_w in seen.starts_w:
        bears_w = room.site.circuit[name].breaker_w
        asked = f"in wave {wave.number} {name} is asked for {number(round(asked_w))} W"
        text = f"{asked} while a machine starts, its breaker bears {number(round(bears_w))} W"
        yield Breach(Walked.START, name, text)


def _seen(room: SimulatedRoom) -> Seen:
    """Look up what is wrong with the state of the moment, or judge it where that was not done yet."""
    state = room.state
    machines = ((m.name, m.role, m.circuit, *sorted(m.services)) for m in state.machines)
    key = frozenset(machines), state.measures, frozenset(state.cooling.items())
    if key not in room.judged:
        now = Room(room.site, state)
        breaches = verify_state(room.site, state, allow_double=True, before=room.then)
        room.judged[key] = Seen(breaches, now.rack_u, tuple(_starts(room, now)))
    return room.judged[key]


def _starts(room: SimulatedRoom, now: Room) -> Iterator[tuple[str, float]]:
    """List circuits on which a start asks more than the breaker bears, today and at the end do, in W."""
    for name, asked_w in now.starts_w.items():
        bears_w = room.site.circuit[name].breaker_w
        if exceeds(asked_w, max(bears_w, room.then.starts_w[name], room.goal_room.starts_w[name])):
            yield name, asked_w


def _figures(room: SimulatedRoom, wave: WrittenWave) -> Iterator[Breach]:
    """What the order says of the room after a wave is what its state adds up to."""
    if wave.figures is None:
        return
    try:
        book = ledger(room.site, room.state)
    except ValueError:
        return
    true = figures_of(book, rack_u(room.site, room.state) + room.held_u)
    for what, said, found in _pairs(wave.figures, true):
        if not (abs(said - found) <= ROUNDED or said == found):
            text = f"after wave {wave.number} {what} is said to be {number(said)}; it is {number(found)}"
            yield Breach(Walked.FIGURES, f"wave {wave.number}", text)


def _pairs(said: Figures, true: Figures) -> Iterator[tuple[str, float, float]]:
    for name, level_dba in said.levels_dba.items():
        yield f"the level at {name} in dBA", level_dba, true.levels_dba.get(name, float("nan"))
    yield "the draw in W", said.power_w, true.power_w
    yield "the warmest season in °C", said.warmest_c, true.warmest_c
    yield "the number of rack units", said.rack_u, true.rack_u


def _end(room: SimulatedRoom) -> Iterator[Breach]:
    for box in room.held:
        text = f"{box} is switched off for {HOLD_DAYS} days of rollback and never taken out or used again"
        yield Breach(Walked.LEFT, box, text)
    if _plain(room.state) != _plain(room.target):
        yield Breach(Walked.TARGET, room.site.name, "the last wave does not end in the plan's state")


def _plain(state: State) -> tuple[object, ...]:
    machines = frozenset(
        (m.name, m.role, m.circuit, frozenset(m.services), m.box, m.kind) for m in state.machines
    )
    return machines, state.measures, {name: names for name, names in state.cooling.items() if names}
