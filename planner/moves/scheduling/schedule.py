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
from planner.moves.bounds.packing_duals import Prices
from planner.moves.bounds.time_windows import least_windows
from planner.moves.grid.evaluation import Worth, slots_of, strained, worth
from planner.moves.grid.monthly_budget import budgeted, spent_by_month
from planner.moves.grid.slots import Slot
from planner.moves.grid.time_grid import At, Frame, placed, windows_until
from planner.moves.scheduling.formulation import Model
from planner.moves.scheduling.infeasibility import ways_out
from planner.moves.scheduling.initial_schedules import Starts, starts
from planner.moves.scheduling.large_neighbourhood import case_of, over_time
from planner.moves.scheduling.limit_rows import add_limits
from planner.moves.scheduling.orders import best_built
from planner.moves.scheduling.search import Aimed, Search
from planner.moves.scheduling.wave_building import built
from planner.moves.tasks.downtime import downtime_notes
from planner.moves.tasks.limits import Strain
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.progress import Progress
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.wave import Dates, Order, told
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
    aims: tuple[Aimed, ...] = ()
    ways_out: tuple[str, ...] = ()
    worth: Worth | None = None
    seconds: float = 0.0
    stopped_by: str = ""


@dataclass(frozen=True)
class Job:
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
        return budgeted(site, slots_of(self.when, site.windows.crew), self.when, spent)

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

    def frame(self, count: int) -> Frame:
        """Give the first windows with the work."""
        return Frame(self.work, self.slots[:count], self.ready_h)

    def told(self, batches: Sequence[set[str]]) -> Order:
        """Give batches as an order on dates."""
        used = self.when[: len(batches)]
        dates = [Dates(window.start, window.end) for window in used]
        cut = (window for window, batch in zip(used, batches, strict=True) if batch and window.cut)
        notes = tuple(f"The window of {window.start:%a %Y-%m-%d} {window.cut}." for window in cut)
        return told(self.work, batches, dates, notes, first=self.first)


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
    job = Job(work, when, chosen, cancel, so_far.done, so_far.waves_done + 1, so_far.not_before)
    return scheduled(job, seek=seek, explain=explain)


def scheduled(job: Job, *, seek: bool = True, explain: bool = True) -> Schedule:
    """Put work into windows: quick schedules first, then made better and proven."""
    work = job.work
    if not work.blocks:
        return Schedule(job.told([]), (), Outcome.PROVEN)
    until = job.began + STARTS_SHARE * job.options.time_s
    begun = starts(work, job.slots, job.ready_h, job.options.seed, until)
    if not begun.found:
        found, ending = _sought(job) if seek else (None, Ending.FAILED)
        if found is None:
            return _without(job, ending, explain=explain)
        begun = Starts((found,), None)
    return _improved(job, begun) or _without(job, Ending.FAILED, explain=explain)


def _improved(job: Job, begun: Starts) -> Schedule | None:
    """Make the best start better, aim by aim, never louder over time than the plain order.

    None where every start passes a true limit that the meter leaves out, and building finds none either.
    """
    every = begun.found
    frame = job.frame(max(windows_until(at) for at in every) + SPARE_WINDOWS)
    case = case_of(frame)

    def loudness(at: At) -> float:
        return case.loud.mean(at, frame.spans_h)

    options = job.options
    cap = math.inf if begun.plain is None else loudness(begun.plain)
    best = (
        min(every, key=loudness) if options.quiet_first else next(at for at in every if loudness(at) <= cap)
    )
    time_s = max(0.5 * options.time_s, options.time_s - READINGS * _reading_s(job, frame, best))
    search = Search(case, best, time_s, cap, options.seed, job.cancel, job.began, options.quiet_first)
    aims = search.improve(every)
    at = search.at
    if strained(job.work, frame.batches(at)):
        safe, aims = _safe(job, frame, every), tuple(replace(aim, proven=False) for aim in aims)
        if safe is None:
            return None
        at = safe
    batches = frame.batches(at)[: windows_until(at)]
    proven = all(aim.proven for aim in aims)
    return Schedule(
        job.told(batches),
        tuple(job.when[: frame.count]),
        Outcome.PROVEN if proven else Outcome.STOPPED_WITH_PLAN,
        aims,
        (*job.work.knots, *downtime_notes(job.work)),
        worth(job.work, frame.slots, batches),
        time.monotonic() - job.began,
        "" if proven else _stopper(job, search),
    )


def time_limit(seconds: float) -> str:
    """Name the time limit as what ended a search."""
    return f"the time limit of {seconds:g} s"


def _stopper(job: Job, search: Search) -> str:
    """Say what ended a search that did not prove every aim."""
    if job.cancel is not None and job.cancel.is_set():
        return INTERRUPTED
    return UNPROVEN if search.left_s > 0.0 else time_limit(job.options.time_s)


def _reading_s(job: Job, frame: Frame, at: At) -> float:
    """Give how long it takes to add up a schedule from its states, s."""
    began = time.monotonic()
    worth(job.work, frame.slots, frame.batches(at))
    return time.monotonic() - began


def _safe(job: Job, frame: Frame, every: Sequence[At]) -> At | None:
    """Give a schedule that keeps the true limits, where the best one passes one that the meter left out."""
    holding = next((at for at in every if not strained(job.work, frame.batches(at))), None)
    if holding is not None:
        return holding
    built = best_built(job.work, frame.slots, job.ready_h)
    return None if built is None else placed(built)


def _sought(job: Job) -> tuple[At | None, Ending]:
    """Seek any schedule by the integer programme, where building one by one finds none."""
    hours, most_h = sum(b.hours for b in job.work.blocks), max((s.crew_h for s in job.slots), default=0.0)
    needed = math.ceil(hours / most_h) if most_h > 0.0 else 0
    frame = job.frame(max(SEARCHED_WINDOWS, 2 * needed))
    model = _open_model(frame)
    case = case_of(frame)
    add_limits(model, known=case.limits)
    search = Search(
        case, {}, job.options.time_s * SOUGHT_SHARE, math.inf, job.options.seed, job.cancel, job.began
    )
    answer = search.solve(model, over_time(model, case.loudness), search.left_s, {}, None, gap=0.5)
    return (search.at or None), answer.ending


def _open_model(frame: Frame) -> Model:
    """Write the programme in which every block may be done in every window."""
    last = frame.count - 1
    earliest, latest = dict.fromkeys(frame.names, 0), dict.fromkeys(frame.names, last)
    return Model(frame, earliest, latest, is_whole=True)


def _nearest(job: Job, batches: Sequence[set[str]]) -> tuple[str, ...]:
    """Say which limits the order passes that was built in spite of them."""
    worst: dict[tuple[str, str], Strain] = {}
    for _, over in strained(job.work, batches):
        for item in over:
            key = item.rule, item.where
            worst[key] = max(item, worst.get(key, item), key=lambda strain: strain.value)
    return tuple(f"in the nearest one {item.text}." for item in worst.values())


def _without(job: Job, ending: Ending, *, explain: bool) -> Schedule:
    """Say what stands in the way, with an order that passes some limits and says which.

    That the programme has no answer is no proof that no order exists: it has its wishes, blocks and windows.
    """
    batches = _forced(job)
    impossible = ending is Ending.INFEASIBLE
    return Schedule(
        job.told(batches),
        tuple(job.when[: len(batches)]),
        Outcome.INFEASIBLE if impossible else Outcome.STOPPED_EMPTY,
        (),
        _reasons(job, batches) if explain else (),
        None,
        time.monotonic() - job.began,
    )


def _forced(job: Job) -> list[set[str]]:
    """Build an order that passes as few limits as building finds."""
    tried = [built(job.work, job.slots, force=True, ready_h=job.ready_h, lazy=lazy) for lazy in (False, True)]
    return min(tried, key=lambda found: len(strained(job.work, found)))


def _few_windows(job: Job) -> Frame:
    """Give as many windows as show what lacks: twice what is needed at the least, as far as there are any."""
    few = min(FEW_WINDOWS, len(job.slots))
    return job.frame(max(few, 2 * least_windows(Prices(job.frame(len(job.slots))), few)))


def _reasons(job: Job, batches: Sequence[set[str]]) -> tuple[str, ...]:
    """Seek the smallest ways out; where that takes too long, say what the nearest order passes."""
    frame = _few_windows(job)
    found = ways_out(_open_model(frame), job.slots, job.options.seed, max(5.0, job.options.time_s / 2.0))
    if found:
        return found
    words = f"no schedule was found in {job.options.time_s:.0f} s: give it more time."
    return (words, *_nearest(job, batches))


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
    job = Job(work, when, options, cancel, progress.done, progress.waves_done + 1, progress.not_before)
    frame = _few_windows(job)
    found = ways_out(_open_model(frame), job.slots, options.seed, options.time_s)
    return found or _nearest(job, _forced(job))
