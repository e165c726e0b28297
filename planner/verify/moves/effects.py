"""What each task does to the judge's simulated room, and what is wrong with doing it then."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from planner.domain.order import Sort, Task, WrittenWave
from planner.domain.practice import DAY_H, HOLD_DAYS
from planner.verify.moves.room import SimulatedRoom, Walked, is_after, way_back
from planner.verify.trial import Breach

TaskEffect = Callable[[SimulatedRoom, Task, WrittenWave], Iterator[Breach]]


def known(room: SimulatedRoom, task: Task) -> bool:
    """Say whether what a task is about is there to be done something with."""
    bought = {machine.name for machine in room.target.machines if machine.kind is not None}
    kept = {machine.box for machine in room.target.machines if machine.box is not None}
    subjects = {
        Sort.BRING_IN: bought,
        Sort.PREPARE: bought,
        Sort.REUSE: kept,
        Sort.REPLUG: kept,
        Sort.BACK_UP: {*room.site.service},
        Sort.MOVE: {*room.site.service},
        Sort.HOLD: {*room.site.box},
        Sort.RETIRE: {*room.site.box},
        Sort.MEASURE: {*room.site.measure},
        Sort.COOLING_ON: {*room.site.cooling_option},
        Sort.COOLING_OFF: {*room.site.cooling_option},
    }
    return task.subject in subjects[task.sort]


def _bring_in(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    del wave
    room.on.setdefault(task.subject, replace(room.goal(task.subject), services=()))
    yield from ()


def _prepare(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    if task.subject not in room.on:
        yield Breach(Walked.PREPARE, task.subject, f"{task.subject} is prepared before it is there")
    room.came[task.subject] = wave


def _reuse(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    box = task.subject
    yield from way_back(room, box, wave, "rebuilt")
    room.held.pop(box, None)
    here = room.on.get(box)
    left = here.services if here is not None else ()
    for name in left:
        if room.goal_of(name).name != box:
            yield Breach(Walked.REBUILD, box, f"{box} is rebuilt while {name} is on it")
        elif name in room.moved:
            yield Breach(Walked.REBUILD, box, f"{box} is rebuilt after {name} was set up on it")
        elif name not in wave.moves:
            text = f"{box} is rebuilt in wave {wave.number}, which does not set {name} up on it again"
            yield Breach(Walked.REBUILD, box, text)
        if name not in room.backed_up:
            yield Breach(Walked.BACK_UP, name, f"{box} is rebuilt before {name} is backed up")
    room.on[box] = replace(room.goal(box), services=left)
    room.came[box] = wave


def _replug(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    del wave
    box = task.subject
    if box not in room.on:
        yield Breach(Walked.REPLUG, box, f"{box} is plugged over, but is not on")
        return
    room.on[box] = replace(room.on[box], circuit=room.goal(box).circuit)


def _back_up(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    room.backed_up[task.subject] = wave
    yield from ()


def _move(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    name, goal = task.subject, room.goal_of(task.subject)
    if task.goal not in ("", goal.name):
        yield Breach(Walked.GOAL, name, f"{name} moves to {task.goal}; in the plan it is on {goal.name}")
    if name not in room.backed_up:
        yield Breach(Walked.BACK_UP, name, f"{name} moves before it is backed up")
    elif wave.start is not None and is_after(room.backed_up[name], wave, HOLD_DAYS * 24.0):
        text = f"{name} moves in wave {wave.number}, its backup is older than {HOLD_DAYS} days"
        yield Breach(Walked.BACK_UP, name, text)
    if goal.name not in room.on:
        yield Breach(Walked.MOVE, name, f"{name} moves to {goal.name}, which is not on")
        return
    if goal.kind is not None and not is_after(room.came.get(goal.name, wave), wave, DAY_H):
        text = f"{name} moves to {goal.name} before that is set up and has soaked for a day"
        yield Breach(Walked.SOAK, name, text)
    here = room.on[goal.name]
    if name not in here.services:
        room.on[goal.name] = replace(here, services=(*here.services, name))
    room.moved[name] = wave


def _hold(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    box = task.subject
    here = room.on.pop(box, None)
    if here is None:
        yield Breach(Walked.HOLD, box, f"{box} is switched off, but is not on")
        return
    for name in here.services:
        if name not in room.moved:
            yield Breach(Walked.HOLD, box, f"{box} is switched off with {name} on it")
    room.held[box] = wave


def _retire(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    if task.subject not in room.held:
        yield Breach(
            Walked.RETIRE, task.subject, f"{task.subject} is taken out, but is not held switched off"
        )
    yield from way_back(room, task.subject, wave, "taken out")
    room.held.pop(task.subject, None)


def _measure(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    del wave
    room.measures |= {task.subject}
    yield from ()


def _cooling(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    del wave
    none: frozenset[str] = frozenset()
    for season, names in room.cooling.items():
        runs_then = task.subject in room.target.cooling.get(season, none)
        if task.sort is Sort.COOLING_ON and runs_then:
            room.cooling[season] = names | {task.subject}
        if task.sort is Sort.COOLING_OFF and not runs_then:
            room.cooling[season] = names - {task.subject}
    yield from ()


TASK_EFFECTS: dict[Sort, TaskEffect] = {
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
