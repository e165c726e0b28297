"""Where no schedule holds: which limit breaks, and the smallest help that would let one through."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.order import Sort, Task
from planner.moves.exhaustive.any_order import AnyOrder, Step
from planner.moves.figures.window_limits import Limit
from planner.moves.grid.slots import Slot
from planner.moves.scheduling.formulation import Model, Terms
from planner.moves.scheduling.limit_rows import add_limits, list_crest_limits
from planner.moves.tasks.work_packages import Work
from planner.solver import Limits, run

LEAST = 1e-4


def find_conflicts(
    model: Model, every: Sequence[Slot], seed: int = 0, time_s: float = 10.0
) -> tuple[Conflict, ...]:
    """Seek the smallest ways out: windows too short first, then limits by what they lack.

    ``model`` is one without rows for the limits; it gets them here, loosened. ``every`` are all windows
    there are, of which it may have the first few.
    """
    longest = max(every, key=lambda slot: slot.hours, default=Slot(0.0, 0.0, 0.0))
    work = model.work
    long = AnyOrder(work, done=work.past, most_h=longest.hours, crew_h=longest.crew_h).too_long
    found = dict.fromkeys(_too_long(step, longest) for step in long)
    return tuple(found or _solve_lacking(model, seed, time_s))


def _too_long(step: Step, longest: Slot) -> Conflict:
    """Compute how long a window tasks need that are done in one go: for the longest, with a crew for all."""
    rebuilt = any(task.sort is Sort.REUSE for task in step)
    hours = [task.hours + task.way_back_h for task in step]
    return Conflict(
        Rule.WINDOW,
        tuple(task.id for task in step),
        amount=max(max(hours), sum(hours) / longest.crew) - longest.hours,
        unit="h",
        there=longest.hours,
        shown=Shown.ON_THE_WAY,
        others=tuple(task.subject for task in step if not rebuilt and _copies(task)),
        work_h=sum(hours),
    )


def _copies(task: Task) -> bool:
    """Say whether a task copies data that could be replicated beforehand."""
    return task.sort is Sort.MOVE and task.method not in ("replicate", "promote")


def _solve_lacking(model: Model, seed: int, time_s: float) -> Iterator[Conflict]:
    """Solve with every limit loosened at a price, and read what had to be loosened."""
    known = list_crest_limits(model)
    slack = {limit.about: model.program.continuous("lack", None) for limit in known}
    loosened: dict[Conflict, Terms] = {about: [(variable, -1.0)] for about, variable in slack.items()}
    add_limits(model, loosened)
    price = model.program.total((slack[limit.about], 1.0 / _scale(limit)) for limit in known)
    answer = run(model.program, price, Limits(time_s=time_s, relative_gap=0.01, seed=seed))
    if not answer.found:
        yield from _no_windows(model.work, model.slots)
        return
    batches = model.grid.batches(model.read(answer.values))
    for limit in known:
        lack = answer.values[slack[limit.about].name]
        if lack > LEAST * _scale(limit):
            wave = _wave_that_breaks(model, limit, answer.values, batches)
            yield replace(limit.about, amount=lack, wave=wave)


def _scale(limit: Limit) -> float:
    """Compute what lacks as much as a whole limit: heat is held against a small cooler, 1 kW."""
    return 1000.0 if limit.about.rule is Rule.HEAT else max(1.0, abs(limit.most))


def _no_windows(work: Work, slots: Sequence[Slot]) -> Iterator[Conflict]:
    hours, room = sum(block.hours for block in work.blocks), sum(slot.crew_h for slot in slots)
    if hours > room:
        yield Conflict(
            Rule.WINDOWS, amount=hours - room, unit="h", there=room, shown=Shown.ON_THE_WAY, wave=len(slots)
        )


def _wave_that_breaks(
    model: Model, limit: Limit, values: Mapping[str, float], batches: Sequence[set[str]]
) -> int:
    """Find the number of the first wave in which the limit is passed."""
    wave = 0
    for index, batch in enumerate(batches):
        wave += bool(batch)
        terms, constant = model.build_linear(limit.figure, index)
        asked = constant + sum(value * values.get(variable.name, 0.0) for variable, value in terms)
        if asked > limit.most + LEAST * _scale(limit):
            return max(wave, 1)
    return max(wave, 1)
