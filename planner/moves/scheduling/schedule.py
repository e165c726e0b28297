"""The scheduler: work into dated windows by building, search and proof, or what stands in the way."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from planner.domain.conflict import Conflict
from planner.domain.plan import INTERRUPTED, Outcome
from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.bounds.packing_duals import PackingDuals
from planner.moves.bounds.time_windows import compute_least_windows
from planner.moves.grid.evaluation import Evaluation, evaluate, find_strains
from planner.moves.grid.time_grid import Assignment, TimeGrid, count_windows
from planner.moves.grid.windows import Window
from planner.moves.scheduling.aim_result import AimResult
from planner.moves.scheduling.formulation import Model
from planner.moves.scheduling.infeasibility import find_conflicts
from planner.moves.scheduling.initial_schedules import (
    InitialSchedules,
    build_best,
    build_nearest,
    find_initial_schedules,
)
from planner.moves.scheduling.limit_rows import add_limits
from planner.moves.scheduling.problem import SearchProblem, build_problem
from planner.moves.scheduling.request import Options, Request, build_request
from planner.moves.scheduling.search import LexicographicSearch
from planner.moves.tasks.downtime import downtime_notes
from planner.moves.tasks.limits import Strain
from planner.moves.tasks.progress import Progress
from planner.moves.tasks.wave import Order
from planner.solver import Ending

UNPROVEN = "not every aim was proven in its share of the time"


@dataclass(frozen=True)
class Schedule:
    """An order on dates and how good it is proven; ``conflicts`` that stand in its way.

    Where no schedule holds every limit, ``order`` is one that passes some, and says which and when. Boxes
    that wait for each other are done with an announced outage, which ``said`` names beside what a search
    says of itself.
    ``windows`` are those that were looked at; figures over time are means until the last of them.
    ``stopped_by`` says why not every aim is proven.
    """

    order: Order
    windows: tuple[Window, ...]
    outcome: Outcome
    aims: tuple[AimResult, ...] = ()
    said: tuple[str, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    evaluation: Evaluation | None = None
    seconds: float = 0.0
    stopped_by: str = ""


def schedule(
    site: Site,
    state: State,
    options: Options | None = None,
    *,
    progress: Progress | None = None,
    cancel: threading.Event | None = None,
    watch: Callable[[Order], None] | None = None,
    wishes: bool = True,
    seek: bool = True,
    explain: bool = True,
) -> Schedule:
    """Put the work from a site today to a state into its maintenance windows, what is done left out.

    Without ``wishes`` only the rules are kept; without ``seek`` no programme is solved where quick schedules
    fail, without ``explain`` no way out is sought where there is none. ``watch`` hears of the first schedule
    that is found. Raises like `build_request`.
    """
    request = build_request(site, state, options or Options(), progress or Progress(), cancel, wishes=wishes)
    return solve_request(replace(request, watch=watch), seek=seek, explain=explain)


def solve_request(request: Request, *, seek: bool = True, explain: bool = True) -> Schedule:
    """Put work into windows: quick schedules first, then made better and proven."""
    if not request.work.blocks:
        return Schedule(request.build_order([]), (), Outcome.PROVEN)
    options, params = request.options, request.params
    problem = build_problem(request.grid(), params, options.seed, request.cancel)
    initial, ending = find_initial_schedules(problem, params.initial_share * options.time_s), Ending.FAILED
    if not initial.found and seek:
        found, ending = _seek(request, problem)
        initial = InitialSchedules(() if found is None else (found,), None)
    improved = _improve(request, problem, initial) if initial.found else None
    return improved or _without(request, problem, ending, explain=explain)


def _improve(request: Request, every: SearchProblem, initial: InitialSchedules) -> Schedule | None:
    """Make the best schedule better, aim by aim, never louder over time than the plain order.

    None where each passes a true limit that the polynomials leave out, and building finds none either.
    """
    found, options, params = initial.found, request.options, request.params
    grid = request.grid(max(map(count_windows, found)) + params.spare_windows)
    problem = every.on(grid)

    def level(at: Assignment) -> float:
        return problem.mean(problem.level, at)

    cap = math.inf if initial.plain is None else level(initial.plain)
    best = min(found, key=level) if options.quiet_first else next(at for at in found if level(at) <= cap)
    kept_s = min(0.5 * options.time_s, params.readings * _reading_s(grid, best))
    search = LexicographicSearch(
        problem, best, options.time_s - kept_s, cap, request.began, options.quiet_first
    )
    if request.watch is not None:
        request.watch(request.build_order(every.grid.batches(best)[: count_windows(best)]))
    aims, at = search.improve(found), search.at
    if find_strains(request.work, grid.batches(at)):
        safe, aims = _find_safe(every, found), tuple(replace(aim, proven=False) for aim in aims)
        if safe is None:
            return None
        at = safe
    batches = every.grid.batches(at)[: count_windows(at)]
    proven = all(aim.proven for aim in aims)
    return Schedule(
        request.build_order(batches),
        tuple(request.when[: grid.count]),
        Outcome.PROVEN if proven else Outcome.STOPPED_WITH_PLAN,
        aims,
        said=(*request.work.knots, *downtime_notes(request.work)),
        evaluation=evaluate(request.work, grid.slots, batches),
        seconds=time.monotonic() - request.began,
        stopped_by="" if proven else _stopper(request, search),
    )


def name_time_limit(seconds: float) -> str:
    """Name the time limit as what ended a search."""
    return f"the time limit of {seconds:g} s"


def _stopper(request: Request, search: LexicographicSearch) -> str:
    """Say what ended a search that did not prove every aim."""
    if search.problem.is_cancelled:
        return INTERRUPTED
    return UNPROVEN if search.left_s > 0.0 else name_time_limit(request.options.time_s)


def _reading_s(grid: TimeGrid, at: Assignment) -> float:
    """Compute how long it takes to add up a schedule from its states, s."""
    began = time.monotonic()
    evaluate(grid.work, grid.slots, grid.batches(at))
    return time.monotonic() - began


def _find_safe(problem: SearchProblem, every: Sequence[Assignment]) -> Assignment | None:
    """Find a schedule that keeps the true limits, where the best one passes one."""
    work, grid = problem.grid.work, problem.grid
    holding = (at for at in every if not find_strains(work, grid.batches(at)))
    return next(holding, None) or build_best(problem)


def _seek(request: Request, every: SearchProblem) -> tuple[Assignment | None, Ending]:
    """Solve the programme for any schedule, where building one by one finds none."""
    hours = sum(block.hours for block in request.work.blocks)
    most_h = max((slot.crew_h for slot in request.slots), default=0.0)
    needed, params = math.ceil(hours / most_h) if most_h > 0.0 else 0, request.params
    problem = every.on(request.grid(max(params.searched_windows, 2 * needed)))
    model = _open_model(problem.grid)
    add_limits(model, known=problem.limits)
    time_s = request.options.time_s * params.sought_share
    search = LexicographicSearch(problem, {}, time_s, began=request.began)
    answer = search.solve(model, model.build_mean(problem.level.poly), search.left_s, {}, None, gap=0.5)
    return search.at or None, answer.ending


def _open_model(grid: TimeGrid) -> Model:
    """Build the programme in which every block may be done in every window."""
    earliest, latest = dict.fromkeys(grid.names, 0), dict.fromkeys(grid.names, grid.count - 1)
    return Model(grid, earliest, latest, is_whole=True)


def _without(request: Request, problem: SearchProblem, ending: Ending, *, explain: bool) -> Schedule:
    """Say what stands in the way, with an order that passes some limits and says which.

    That the programme has no answer is no proof that no order exists: it has its wishes, blocks and windows.
    """
    batches = _build_nearest(problem)
    said, conflicts = _explain(request, batches) if explain else ((), ())
    return Schedule(
        request.build_order(batches),
        tuple(request.when[: len(batches)]),
        Outcome.INFEASIBLE if ending is Ending.INFEASIBLE else Outcome.STOPPED_EMPTY,
        said=said,
        conflicts=conflicts,
        seconds=time.monotonic() - request.began,
    )


def _build_nearest(problem: SearchProblem) -> list[set[str]]:
    at = build_nearest(problem)
    return problem.grid.batches(at)[: count_windows(at)]


Explained: TypeAlias = tuple[tuple[str, ...], tuple[Conflict, ...]]
"""What is said, and the conflicts that were found."""


def _explain(request: Request, batches: Sequence[set[str]]) -> Explained:
    """Solve for the smallest ways out; where that takes too long, say what the nearest order passes."""
    time_s, knots = request.options.time_s, request.work.knots
    found = _solve_conflicts(request, max(5.0, time_s / 2.0))
    if found or knots:
        return knots, found
    return (f"no schedule was found in {time_s:.0f} s: give it more time.", *_nearest(request, batches)), ()


def _solve_conflicts(request: Request, time_s: float) -> tuple[Conflict, ...]:
    """Solve for the smallest ways out in as many windows as show what lacks, as far as there are any."""
    few = min(request.params.few_windows, len(request.slots))
    needed = compute_least_windows(PackingDuals(request.grid(), request.params), few)
    model = _open_model(request.grid(max(few, 2 * needed)))
    return find_conflicts(model, request.slots, request.options.seed, time_s)


def _nearest(request: Request, batches: Sequence[set[str]]) -> tuple[str, ...]:
    """Say which limits the order passes that was built in spite of them."""
    worst: dict[tuple[str, str], Strain] = {}
    for _, over in find_strains(request.work, batches):
        for item in over:
            key = item.rule, item.where
            worst[key] = max(item, worst.get(key, item), key=lambda strain: strain.value)
    return tuple(f"in the nearest one {item.text}." for item in worst.values())


def solve_explanation(
    site: Site,
    state: State,
    options: Options,
    progress: Progress,
    cancel: threading.Event | None = None,
) -> Explained:
    """Seek the smallest ways out for work without an order, by rules alone; raises like `build_request`."""
    request = build_request(site, state, options, progress, cancel, wishes=False)
    found, knots = _solve_conflicts(request, options.time_s), request.work.knots
    if found or knots:
        return knots, found
    return _nearest(request, _build_nearest(build_problem(request.grid()))), ()
