"""Where no schedule holds: which limit breaks, and the smallest help that would let one through."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from planner.domain.order import Sort
from planner.domain.resources import RESOURCES
from planner.moves.figures.window_limits import Limit
from planner.moves.grid.slots import Slot
from planner.moves.scheduling.any_order import AnyOrder, Step
from planner.moves.scheduling.formulation import Model, Terms
from planner.moves.scheduling.limit_rows import add_limits, list_crest_limits
from planner.moves.tasks.work_packages import Work
from planner.solver import Limits, run

LEAST = 1e-4


def find_ways_out(
    model: Model, every: Sequence[Slot], seed: int = 0, time_s: float = 10.0
) -> tuple[str, ...]:
    """Seek the smallest ways out in words: windows too short first, then limits by what they lack.

    ``model`` is one without rows for the limits; it gets them here, loosened. ``every`` are all windows
    there are, of which it may have the first few.
    """
    work = model.work
    longest = max(every, key=lambda slot: slot.hours, default=Slot(0.0, 0.0, 0.0))
    long = AnyOrder(work, done=work.past, most_h=longest.hours, crew_h=longest.crew_h).too_long
    told = dict.fromkeys(_too_long(step, longest) for step in long)
    if told:
        return (*told, *work.knots)
    return (*_solve_lacking(model, seed, time_s), *work.knots)


def _too_long(step: Step, longest: Slot) -> str:
    """Say how long a window tasks need that are done in one go: for the longest, and with a crew for all."""
    rebuilt = any(task.sort is Sort.REUSE for task in step)
    slow = {task.method for task in step if task.sort is Sort.MOVE and not rebuilt} - {"replicate", "promote"}
    other = ", or replicate its data beforehand ('method: replicate')" if slow else ""
    hours = [task.hours + task.way_back_h for task in step]
    needed = max(max(hours), sum(hours) / longest.crew)
    what = " and ".join(f"'{task.id}'" for task in step)
    people = f" for {longest.crew} people" if longest.crew > 1 else ""
    takes = "takes" if len(step) == 1 else "in one go take"
    return (
        f"{what} {takes} {sum(hours):.1f} h with the way back, the longest window has {longest.hours:.1f} h"
        f"{people}: give it a window of {needed:.1f} h{other}."
    )


def _solve_lacking(model: Model, seed: int, time_s: float) -> Iterator[str]:
    """Solve with every limit loosened at a price, and read what had to be loosened."""
    known = list_crest_limits(model)
    slack = {name: model.program.continuous(f"lack: {name}", None) for name in known}
    loosened: dict[str, Terms] = {name: [(variable, -1.0)] for name, variable in slack.items()}
    add_limits(model, loosened)
    price = model.program.total((v, 1.0 / _scale(known[name])) for name, v in slack.items())
    answer = run(model.program, price, Limits(time_s=time_s, relative_gap=0.01, seed=seed))
    if not answer.found:
        yield from _no_windows(model.work, model.slots)
        return
    batches = model.grid.batches(model.read(answer.values))
    for name, variable in slack.items():
        lack = answer.values[variable.name]
        if lack > LEAST * _scale(known[name]):
            yield _lack_text(known[name], lack, _wave_that_breaks(model, known[name], answer.values, batches))


def _scale(limit: Limit) -> float:
    """Look up what lacks as much as a whole limit: heat is held against a small cooler, 1 kW."""
    return 1000.0 if limit.rule == "heat" else max(1.0, abs(limit.most))


def _no_windows(work: Work, slots: Sequence[Slot]) -> Iterator[str]:
    hours = sum(block.hours for block in work.blocks)
    room = sum(slot.crew_h for slot in slots)
    if hours <= room:
        return
    yield (
        f"the work takes {hours:.1f} h and the {len(slots)} windows looked at have {room:.1f} h, with the "
        "order of the tasks and the days of rollback in between: give more or longer windows."
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


def _lack_text(limit: Limit, lack: float, wave: int) -> str:
    start = f"in wave {wave} at the latest"
    where = limit.where.split("@")[0]
    if limit.rule == "rack":
        return f"{start} the rack lacks {lack:.0f} units: stand a machine outside it, or retire one before."
    if limit.rule == "circuit":
        return f"{start} {where} lacks {lack:.0f} W: have a temporary circuit for {lack:.0f} W, or plug over."
    if limit.rule == "start":
        machine = limit.where.split("@")[1]
        return (
            f"{start} {where} lacks {lack:.0f} W while {machine} starts: start it from another circuit, or "
            f"switch off {lack:.0f} W there first."
        )
    if limit.rule == "heat":
        return f"{start} {lack:.0f} W of heat stay in the room in {where}: borrow a cooler of {lack:.0f} W."
    unit = RESOURCES[limit.rule].amount
    return (
        f"{start} {where} lacks {lack:.1f} {unit}: borrow a machine with at least {lack:.1f} {unit} to step "
        "on, or announce an outage and stop what leaves before what comes."
    )
