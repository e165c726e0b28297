"""Orders without dates and without a solver: a window a week, built by rules, made quieter by its list.

Why so: orders are built quiet first by loudness saved for an hour of work, one box after the other, and
plain topological; the best has its blocks moved in the list. Nothing is timed, so that the same file gives
the same waves.
"""

from __future__ import annotations

from planner.domain import practice
from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.grid.evaluation import find_strains
from planner.moves.grid.slots import WEEK_H, Slot
from planner.moves.grid.time_grid import Assignment, TimeGrid, count_windows
from planner.moves.scheduling.initial_schedules import build_best, build_nearest
from planner.moves.scheduling.priority_search import PrioritySearch
from planner.moves.scheduling.problem import SearchProblem, build_problem
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.wave import Order, build_order
from planner.moves.tasks.work_packages import Work, work_of


def order(site: Site, state: State, *, hours: float = practice.WAVE_HOURS) -> Order:
    """Build the waves that lead from a site today to a state, one crew, ``hours`` a wave with the way back.

    Raises KeyError when the state does not carry a service of the site.
    """
    return build_undated(work_of(Change(site, state)), hours=hours)


def build_undated(work: Work, *, hours: float = practice.WAVE_HOURS, first: int = 1) -> Order:
    """Build the waves of a work without dates from wave ``first`` on; some limits passed where it must be."""
    if not work.blocks:
        return build_order(work, [], first=first)
    problem = build_problem(TimeGrid(work, build_weekly_slots(work, hours)))
    at = build_best(problem)
    at = build_nearest(problem) if at is None else make_quieter(problem, at)
    return build_order(work, problem.grid.batches(at), notes=_too_long(work, hours), first=first)


def build_weekly_slots(work: Work, hours: float) -> list[Slot]:
    """Build a slot a week, as many as there are blocks."""
    return [Slot(hours, index * WEEK_H, index * WEEK_H) for index in range(len(work.blocks))]


def make_quieter(problem: SearchProblem, at: Assignment) -> Assignment:
    """Search a schedule that is as quiet over time or quieter, in the same windows or fewer."""
    grid, windows = problem.grid, count_windows(at)
    problem = problem.on(TimeGrid(grid.work, grid.slots[:windows], grid.ready_h))
    lists = problem.params.undated_puts // max(1, len(grid.names))
    found = PrioritySearch(problem, problem.level, windows, at, lists).run()
    return at if find_strains(grid.work, grid.batches(found)) else found


def _too_long(work: Work, hours: float) -> tuple[str, ...]:
    return tuple(
        f"'{block.name}' takes {block.hours:.1f} h with its way back, longer than a wave of {hours:.0f} h: "
        "lengthen the window" + (", or replicate beforehand." if block.moves else ".")
        for block in work.blocks
        if block.hours > hours + 1e-9
    )
