"""Every schedule of a small work, tried one by one: the oracle for the integer programme."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import inf

from planner.domain import practice
from planner.moves.figures.evaluator import LimitEvaluator
from planner.moves.grid.evaluation import Evaluation, evaluate, find_strains
from planner.moves.grid.slots import Slot
from planner.moves.grid.time_grid import Assignment, TimeGrid, count_windows
from planner.moves.scheduling.initial_schedules import build_from_list
from planner.moves.scheduling.priority_rules import build_plain_list
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.work_packages import Work

Batches = list[set[str]]


def build_assignment(batches: Batches) -> Assignment:
    """Look up the window of each block of some batches."""
    return {name: index for index, batch in enumerate(batches) for name in batch}


def schedules(work: Work, slots: Sequence[Slot]) -> Iterator[Batches]:
    """List every way to put all blocks into slots that keeps order, hours and co-scheduling."""
    yield from _from(work, slots, [], {})


def _from(work: Work, slots: Sequence[Slot], batches: Batches, placed: dict[str, int]) -> Iterator[Batches]:
    left = [block.name for block in work.blocks if block.name not in placed]
    if not left:
        yield [*batches, *(set[str]() for _ in range(len(slots) - len(batches)))]
        return
    index = len(batches)
    if index == len(slots):
        return
    for size in range(len(left) + 1):
        for chosen in combinations(left, size):
            batch = set(chosen)
            now = {**placed, **dict.fromkeys(batch, index)}
            if _may(work, slots, batch, now, index):
                yield from _from(work, slots, [*batches, batch], now)


def _may(work: Work, slots: Sequence[Slot], batch: set[str], placed: dict[str, int], index: int) -> bool:
    if sum(work.block[name].hours for name in batch) > slots[index].hours + 1e-9:
        return False
    if any(len(batch & {*rule.blocks}) > 1 for rule in work.nevers):
        return False
    for (before, after), lag in work.lags.items():
        if after not in batch:
            continue
        if before not in placed:
            return False
        at = placed[before]
        hold_h = practice.HOLD_DAYS * 24.0
        if lag is Lag.LATER and at >= index:
            return False
        if lag is Lag.HELD and slots[index].start_h < slots[at].end_h + hold_h:
            return False
    return True


def plain_batches(work: Work, slots: Sequence[Slot]) -> Batches | None:
    """Build the plain order; None where the slots do not take all of it."""
    grid = TimeGrid(work, slots)
    at = build_from_list(grid, build_plain_list(work), LimitEvaluator(work))
    return None if at is None else grid.batches(at)[: count_windows(at)]


def best(work: Work, slots: Sequence[Slot]) -> Evaluation | None:
    """Make the least windows and, with those, the least level over time; None without any schedule.

    Nothing counts that is louder over time than the plain order, where that order can be kept.
    """
    good = [
        evaluate(work, slots, batches)
        for batches in schedules(work, slots)
        if not find_strains(work, batches)
    ]
    plain = plain_batches(work, slots)
    cap = inf
    if plain is not None and not find_strains(work, plain):
        cap = evaluate(work, slots, plain).loudness * (1.0 + 1e-9)
    quiet = (found for found in good if found.loudness <= cap)
    return min(quiet, key=lambda found: (found.windows, found.loudness), default=None)
