"""Schedules to start a search from: quick ones for each number of windows, the plain one, the best built."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

from planner.moves.figures.evaluator import LimitEvaluator
from planner.moves.grid.evaluation import find_strains
from planner.moves.grid.time_grid import Assignment, TimeGrid, count_windows
from planner.moves.scheduling.priority_rules import (
    PriorityRule,
    build_plain_list,
    build_quiet_list,
    draw_ranks,
    place_in,
    trade_rules,
)
from planner.moves.scheduling.problem import SearchProblem
from planner.moves.scheduling.schedule_generation import build_parallel, build_serial, is_whole


@dataclass(frozen=True)
class InitialSchedules:
    """Schedules that keep every limit, the one of fewest windows first, and the plain order where it does.

    The limits are read as polynomials; the true states are asked when a schedule is to be given out.
    """

    found: tuple[Assignment, ...]
    plain: Assignment | None


def find_initial_schedules(problem: SearchProblem, time_s: float) -> InitialSchedules:
    """Search quick schedules for as much work as a time stands for."""
    grid, work, evaluator = problem.grid, problem.grid.work, problem.evaluator
    plain = build_from_list(grid, build_plain_list(work), evaluator)
    plain = plain if plain is not None and problem.keeps_limits(plain) else None

    def read_under_limits(rank: Mapping[str, float]) -> Assignment | None:
        at = build_parallel(grid, PriorityRule(work, rank), evaluator)
        return at if is_whole(grid, at) else None

    params = problem.params
    found = _search_lists(problem, lambda rank: build_serial(grid, rank), time_s)
    found = found or _search_lists(problem, read_under_limits, time_s / params.put_under_limits)
    found = found or build_each(problem)
    every = [*found, *([plain] if plain is not None else [])]
    return InitialSchedules(tuple(sorted(every, key=count_windows)), plain)


def _search_lists(
    problem: SearchProblem, read: Callable[[Mapping[str, float]], Assignment | None], time_s: float
) -> list[Assignment]:
    """Search the quietest of each number of windows that keep the limits, in lists drawn by chance."""
    params = problem.params
    until = time.monotonic() + params.slack * time_s
    count = min(params.initial_lists, params.lists_in(time_s, len(problem.grid.names)))
    quiet = build_quiet_list(problem.grid.work, problem.level.figure)
    best: dict[int, tuple[float, Assignment]] = {}
    refused = 0
    ranks = draw_ranks(problem.grid, quiet, problem.seed, params.noise_h)
    for rank in islice(ranks, count):
        at = read(rank)
        if at is not None:
            windows, price = count_windows(at), problem.mean(problem.level, at)
            if all(windows < known or price < value for known, (value, _) in best.items()):
                if problem.keeps_limits(at):
                    best[windows] = price, at
                else:
                    refused += 1
        if time.monotonic() > until or (refused >= params.initial_refused and not best):
            break
    return [at for _, (_, at) in sorted(best.items())]


def build_from_list(grid: TimeGrid, names: Sequence[str], limits: LimitEvaluator) -> Assignment | None:
    """Build a schedule after a list, else with machines box by box; None where neither holds every block."""
    rules = (PriorityRule(grid.work, place_in(names), box_by_box=by_box) for by_box in (False, True))
    built = (build_parallel(grid, rule, limits) for rule in rules)
    return next((at for at in built if is_whole(grid, at)), None)


def build_best(problem: SearchProblem) -> Assignment | None:
    """Build by each list and rule, and choose the fewest windows, then the least noise. None: none works."""
    found = build_each(problem)
    return min(found, key=lambda at: (count_windows(at), problem.mean(problem.level, at)), default=None)


def build_each(problem: SearchProblem) -> list[Assignment]:
    """Build by lists and by the trade's rules the schedules that hold every block and the true limits."""
    grid, work, evaluator = problem.grid, problem.grid.work, problem.evaluator
    lists = (build_quiet_list(work, problem.level.figure), build_plain_list(work))
    built = [build_from_list(grid, names, evaluator) for names in lists]
    built += [build_parallel(grid, rule, evaluator) for rule in trade_rules(work)]
    whole = (at for at in built if at is not None and is_whole(grid, at))
    return [at for at in whole if not find_strains(work, grid.batches(at))]


def build_nearest(problem: SearchProblem) -> Assignment:
    """Build the whole schedule in which fewest windows pass a limit, as far as building by rules finds it."""
    grid, work = problem.grid, problem.grid.work
    built = [build_parallel(grid, rule, problem.evaluator, force=True) for rule in trade_rules(work)]
    return min(built, key=lambda at: len(find_strains(work, grid.batches(at))))
