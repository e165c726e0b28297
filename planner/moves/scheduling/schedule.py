"""The scheduler: the work into dated windows, each aim proven in turn while the ones before are held."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import cached_property

from planner.domain import practice
from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.bounds.packing_duals import PackingDuals
from planner.moves.bounds.time_windows import compute_least_windows
from planner.moves.grid.evaluation import Evaluation, build_slots, evaluate, find_strains
from planner.moves.grid.monthly_budget import budgeted, spent_by_month
from planner.moves.grid.slots import Slot
from planner.moves.grid.time_grid import Assignment, TimeGrid, build_assignment, count_windows
from planner.moves.scheduling.formulation import Model
from planner.moves.scheduling.infeasibility import ways_out
from planner.moves.scheduling.initial_schedules import InitialSchedules, starts
from planner.moves.scheduling.large_neighbourhood import build_problem, over_time
from planner.moves.scheduling.limit_rows import add_limits
from planner.moves.scheduling.orders import best_built
from planner.moves.scheduling.search import AimResult, LexicographicSearch
from planner.moves.scheduling.wave_building import built
from planner.moves.tasks.downtime import downtime_notes
from planner.moves.tasks.limits import Strain
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.progress import Progress
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.wave import Dates, Order, build_order
from planner.moves.tasks.windows import Window, windows
from planner.moves.tasks.work_packages import Work, rest_of, work_of
from planner.solver import Ending

MOST_WINDOWS = 208
"""Two years of two windows a week."""

SPARE_WINDOWS = 2
"""How many windows after the last one of the starts count in the means over time."""

SEARCHED_WINDOWS = 24
"""So many windows are searched at least where building one by one finds no schedule; none there: none."""

STARTS_SHARE = 0.1
"""The share of the time in which quick schedules are made."""

SOUGHT_SHARE = 0.25
"""The share of the time after which seeking any schedule by the integer programme is given up."""

READINGS = 10
"""So often a schedule is added up from its states at the end of aims: time is kept back for it."""

INTERRUPTED = "interrupted"
UNPROVEN = "not every aim was proven in its share of the time"

FEW_WINDOWS = 12
"""How many windows are enough to see what lacks, or twice what is needed at the least."""


@dataclass(frozen=True)
class Options:
    """How to schedule: the first day, seconds for all aims together, the solver's seed.

    ``quiet_first``: the level over time before the number of windows.
    """

    start: date | None = None
    time_s: float = 20.0
    seed: int = 0
    quiet_first: bool = False


@dataclass(frozen=True)
class Schedule:
    """An order on dates and how good it is proven; ``ways_out`` of what stands in its way, in words.

    Where no schedule holds every limit, ``order`` is one that passes some, and says which and when. Boxes
    that wait for each other are done with an announced outage, which ``ways_out`` names too.
    ``windows`` are those that were looked at; figures over time are means until the last of them.
    ``stopped_by`` says why not every aim is proven.
    """

    order: Order
    windows: tuple[Window, ...]
    outcome: Outcome
    aims: tuple[AimResult, ...] = ()
    ways_out: tuple[str, ...] = ()
    evaluation: Evaluation | None = None
    seconds: float = 0.0
    stopped_by: str = ""


@dataclass(frozen=True)
class Request:
    """What is to be scheduled: all the work, when, and what of it is done already since when."""

    all_work: Work
    when: Sequence[Window]
    options: Options
    cancel: threading.Event | None = None
    done: Mapping[str, datetime] = field(default_factory=dict)
    first: int = 1
    not_before: Mapping[str, datetime] = field(default_factory=dict)
    began: float = field(default_factory=time.monotonic)

    @cached_property
    def work(self) -> Work:
        """What is left to do."""
        return rest_of(self.all_work, self.done.keys())

    @cached_property
    def slots(self) -> list[Slot]:
        """The windows in hours from the first one's start."""
        site = self.work.change.site
        spent = spent_by_month(self.all_work, self.done)
        return budgeted(site, build_slots(self.when, site.windows.crew), self.when, spent)

    @cached_property
    def ready_h(self) -> dict[str, float]:
        """From which hour on a block may be done that was moved, or waits for what is done already."""
        moved = [(self.work.of_task.get(id_), at) for id_, at in self.not_before.items()]
        found = {name: self._hour(at) for name, at in moved if name is not None}
        for name, hour in (*self._after_links(), *self._after_company()):
            found[name] = max(hour, found.get(name, hour))
        return found

    def _after_links(self) -> Iterator[tuple[str, float]]:
        for link in self.all_work.links:
            after = self.work.of_task.get(link.after)
            if link.lag is not Lag.SAME and after is not None and link.before in self.work.past:
                yield after, self._hour(self.done[link.before]) + link.lag.hours

    def _after_company(self) -> Iterator[tuple[str, float]]:
        """Give what must not be done within a day of something that is done already."""
        for rule in self.all_work.nevers:
            past = [name for name in rule.blocks if name not in self.work.block]
            ends = [self._hour(self.done[id_]) for name in past for id_ in self.all_work.block[name].ids]
            for name in rule.blocks:
                if ends and name in self.work.block:
                    yield name, max(ends) + practice.DAY_H

    def _hour(self, moment: datetime) -> float:
        return (moment.astimezone(UTC) - self.when[0].start.astimezone(UTC)).total_seconds() / 3600.0

    def grid(self, count: int) -> TimeGrid:
        """Give the first windows with the work."""
        return TimeGrid(self.work, self.slots[:count], self.ready_h)

    def build_order(self, batches: Sequence[set[str]]) -> Order:
        """Give batches as an order on dates."""
        used = self.when[: len(batches)]
        dates = [Dates(window.start, window.end) for window in used]
        cut = (window for window, batch in zip(used, batches, strict=True) if batch and window.cut)
        notes = tuple(f"The window of {window.start:%a %Y-%m-%d} {window.cut}." for window in cut)
        return build_order(self.work, batches, dates, notes, first=self.first)


def schedule(
    site: Site,
    state: State,
    options: Options | None = None,
    *,
    progress: Progress | None = None,
    cancel: threading.Event | None = None,
    wishes: bool = True,
    seek: bool = True,
    explain: bool = True,
) -> Schedule:
    """Put the work from a site today to a state into its maintenance windows, what is done left out.

    Without ``wishes`` only the rules are kept; without ``seek`` no programme is solved where quick schedules
    fail, without ``explain`` no way out is sought where there is none.

    Raises ValueError when there is no first day or the time zone is not known, KeyError when the state does
    not carry a service of the site.
    """
    chosen, so_far = options or Options(), progress or Progress()
    when = windows(site.windows, MOST_WINDOWS, chosen.start)
    work = work_of(Change(site, state), wishes=wishes)
    request = Request(work, when, chosen, cancel, so_far.done, so_far.waves_done + 1, so_far.not_before)
    return scheduled(request, seek=seek, explain=explain)


def scheduled(request: Request, *, seek: bool = True, explain: bool = True) -> Schedule:
    """Put work into windows: quick schedules first, then made better and proven."""
    work = request.work
    if not work.blocks:
        return Schedule(request.build_order([]), (), Outcome.PROVEN)
    until = request.began + STARTS_SHARE * request.options.time_s
    begun = starts(work, request.slots, request.ready_h, request.options.seed, until)
    if not begun.found:
        found, ending = _sought(request) if seek else (None, Ending.FAILED)
        if found is None:
            return _without(request, ending, explain=explain)
        begun = InitialSchedules((found,), None)
    return _improved(request, begun) or _without(request, Ending.FAILED, explain=explain)


def _improved(request: Request, begun: InitialSchedules) -> Schedule | None:
    """Make the best start better, aim by aim, never louder over time than the plain order.

    None where every start passes a true limit that the meter leaves out, and building finds none either.
    """
    every = begun.found
    grid = request.grid(max(count_windows(at) for at in every) + SPARE_WINDOWS)
    case = build_problem(grid)

    def loudness(at: Assignment) -> float:
        return case.loud.mean(at, grid.spans_h)

    options = request.options
    cap = math.inf if begun.plain is None else loudness(begun.plain)
    best = (
        min(every, key=loudness) if options.quiet_first else next(at for at in every if loudness(at) <= cap)
    )
    time_s = max(0.5 * options.time_s, options.time_s - READINGS * _reading_s(request, grid, best))
    search = LexicographicSearch(
        case, best, time_s, cap, options.seed, request.cancel, request.began, options.quiet_first
    )
    aims = search.improve(every)
    at = search.at
    if find_strains(request.work, grid.batches(at)):
        safe, aims = _safe(request, grid, every), tuple(replace(aim, proven=False) for aim in aims)
        if safe is None:
            return None
        at = safe
    batches = grid.batches(at)[: count_windows(at)]
    proven = all(aim.proven for aim in aims)
    return Schedule(
        request.build_order(batches),
        tuple(request.when[: grid.count]),
        Outcome.PROVEN if proven else Outcome.STOPPED_WITH_PLAN,
        aims,
        (*request.work.knots, *downtime_notes(request.work)),
        evaluate(request.work, grid.slots, batches),
        time.monotonic() - request.began,
        "" if proven else _stopper(request, search),
    )


def time_limit(seconds: float) -> str:
    """Name the time limit as what ended a search."""
    return f"the time limit of {seconds:g} s"


def _stopper(request: Request, search: LexicographicSearch) -> str:
    """Say what ended a search that did not prove every aim."""
    if request.cancel is not None and request.cancel.is_set():
        return INTERRUPTED
    return UNPROVEN if search.left_s > 0.0 else time_limit(request.options.time_s)


def _reading_s(request: Request, grid: TimeGrid, at: Assignment) -> float:
    """Give how long it takes to add up a schedule from its states, s."""
    began = time.monotonic()
    evaluate(request.work, grid.slots, grid.batches(at))
    return time.monotonic() - began


def _safe(request: Request, grid: TimeGrid, every: Sequence[Assignment]) -> Assignment | None:
    """Give a schedule that keeps the true limits, where the best one passes one that the meter left out."""
    holding = next((at for at in every if not find_strains(request.work, grid.batches(at))), None)
    if holding is not None:
        return holding
    built = best_built(request.work, grid.slots, request.ready_h)
    return None if built is None else build_assignment(built)


def _sought(request: Request) -> tuple[Assignment | None, Ending]:
    """Seek any schedule by the integer programme, where building one by one finds none."""
    hours, most_h = (
        sum(b.hours for b in request.work.blocks),
        max((s.crew_h for s in request.slots), default=0.0),
    )
    needed = math.ceil(hours / most_h) if most_h > 0.0 else 0
    grid = request.grid(max(SEARCHED_WINDOWS, 2 * needed))
    model = _open_model(grid)
    case = build_problem(grid)
    add_limits(model, known=case.limits)
    search = LexicographicSearch(
        case,
        {},
        request.options.time_s * SOUGHT_SHARE,
        math.inf,
        request.options.seed,
        request.cancel,
        request.began,
    )
    answer = search.solve(model, over_time(model, case.loudness), search.left_s, {}, None, gap=0.5)
    return (search.at or None), answer.ending


def _open_model(grid: TimeGrid) -> Model:
    """Write the programme in which every block may be done in every window."""
    last = grid.count - 1
    earliest, latest = dict.fromkeys(grid.names, 0), dict.fromkeys(grid.names, last)
    return Model(grid, earliest, latest, is_whole=True)


def _nearest(request: Request, batches: Sequence[set[str]]) -> tuple[str, ...]:
    """Say which limits the order passes that was built in spite of them."""
    worst: dict[tuple[str, str], Strain] = {}
    for _, over in find_strains(request.work, batches):
        for item in over:
            key = item.rule, item.where
            worst[key] = max(item, worst.get(key, item), key=lambda strain: strain.value)
    return tuple(f"in the nearest one {item.text}." for item in worst.values())


def _without(request: Request, ending: Ending, *, explain: bool) -> Schedule:
    """Say what stands in the way, with an order that passes some limits and says which.

    That the programme has no answer is no proof that no order exists: it has its wishes, blocks and windows.
    """
    batches = _forced(request)
    impossible = ending is Ending.INFEASIBLE
    return Schedule(
        request.build_order(batches),
        tuple(request.when[: len(batches)]),
        Outcome.INFEASIBLE if impossible else Outcome.STOPPED_EMPTY,
        (),
        _reasons(request, batches) if explain else (),
        None,
        time.monotonic() - request.began,
    )


def _forced(request: Request) -> list[set[str]]:
    """Build an order that passes as few limits as building finds."""
    tried = [
        built(request.work, request.slots, force=True, ready_h=request.ready_h, lazy=lazy)
        for lazy in (False, True)
    ]
    return min(tried, key=lambda found: len(find_strains(request.work, found)))


def _few_windows(request: Request) -> TimeGrid:
    """Give as many windows as show what lacks: twice what is needed at the least, as far as there are any."""
    few = min(FEW_WINDOWS, len(request.slots))
    return request.grid(
        max(few, 2 * compute_least_windows(PackingDuals(request.grid(len(request.slots))), few))
    )


def _reasons(request: Request, batches: Sequence[set[str]]) -> tuple[str, ...]:
    """Seek the smallest ways out; where that takes too long, say what the nearest order passes."""
    grid = _few_windows(request)
    found = ways_out(
        _open_model(grid), request.slots, request.options.seed, max(5.0, request.options.time_s / 2.0)
    )
    if found:
        return found
    words = f"no schedule was found in {request.options.time_s:.0f} s: give it more time."
    return (words, *_nearest(request, batches))


def reasons(
    site: Site,
    state: State,
    options: Options,
    progress: Progress,
    cancel: threading.Event | None = None,
) -> tuple[str, ...]:
    """Seek the smallest ways out for work without an order, by rules alone; raises like ``schedule``."""
    when = windows(site.windows, MOST_WINDOWS, options.start)
    work = work_of(Change(site, state), wishes=False)
    request = Request(
        work, when, options, cancel, progress.done, progress.waves_done + 1, progress.not_before
    )
    grid = _few_windows(request)
    found = ways_out(_open_model(grid), request.slots, options.seed, options.time_s)
    return found or _nearest(request, _forced(request))
