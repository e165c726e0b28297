"""Schedules to start a search from: quick ones for each number of windows, and the plain order."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from planner.moves.figures.evaluator import Figure, LimitEvaluator
from planner.moves.figures.room_figures import Figures
from planner.moves.grid.slots import Slot
from planner.moves.grid.time_grid import Assignment, TimeGrid, build_assignment, count_windows
from planner.moves.scheduling.list_scheduling import from_list, plain_list, quiet_list
from planner.moves.scheduling.orders import best_built
from planner.moves.scheduling.random_lists import trials
from planner.moves.tasks.work_packages import Work

MOST_TRIALS = 1500
MOST_REFUSED = 12
"""After so many good ones that pass a limit, with none that keeps all, quick schedules are given up."""


@dataclass(frozen=True)
class InitialSchedules:
    """Schedules that keep every limit, the one of fewest windows first, and the plain order where it does.

    The limits are read off the meter; the true states are asked when a schedule is to be given out.
    """

    found: tuple[Assignment, ...]
    plain: Assignment | None


def starts(
    work: Work, slots: Sequence[Slot], ready_h: Mapping[str, float], seed: int, until: float
) -> InitialSchedules:
    """Find schedules to start from; ``until`` is when no more are tried."""
    grid, meter = TimeGrid(work, slots, ready_h), LimitEvaluator(work)
    loud = Figure(work, Figures(work.change).loudness())
    plain = _whole(grid, meter, from_list(work, slots, plain_list(work), ready_h, meter))
    quiet = quiet_list(work)

    def go_on(number: int) -> bool:
        return number < MOST_TRIALS and time.monotonic() < until

    found = _best(grid, meter, loud, trials(grid, quiet, seed, go_on))
    if not found:
        found = _best(grid, meter, loud, trials(grid, quiet, seed, go_on, meter))
    if not found:
        built = best_built(work, slots, ready_h, until)
        found = [] if built is None else [build_assignment(built)]
    every = [*found, *([plain] if plain is not None else [])]
    return InitialSchedules(tuple(sorted(every, key=count_windows)), plain)


def _best(
    grid: TimeGrid, meter: LimitEvaluator, loud: Figure, tried: Iterable[Assignment]
) -> list[Assignment]:
    """Give those that keep the limits and are the quietest in as many windows or fewer."""
    best: dict[int, tuple[float, Assignment]] = {}
    refused = 0
    for at in tried:
        windows, price = count_windows(at), loud.mean(at, grid.spans_h)
        if any(known <= windows and value <= price for known, (value, _) in best.items()):
            continue
        if all(meter.holds(done, batch) for done, batch in grid.waves(at)):
            best[windows] = price, at
        else:
            refused += 1
            if refused >= MOST_REFUSED and not best:
                break
    return [at for _, (_, at) in sorted(best.items(), key=lambda item: item[0])]


def _whole(grid: TimeGrid, meter: LimitEvaluator, batches: Sequence[set[str]]) -> Assignment | None:
    """Give a schedule where it holds all blocks and every limit."""
    at = build_assignment(batches)
    whole = len(at) == len(grid.names) and all(meter.holds(done, wave) for done, wave in grid.waves(at))
    return at if whole else None
