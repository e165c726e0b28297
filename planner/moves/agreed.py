"""The order that people work from: arranged with or without dates, judged as a whole, kept and marked."""

from __future__ import annotations

import threading
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from planner.facts import WAVE_HOURS
from planner.moves.change import Change
from planner.moves.compared import Compared, all_compared
from planner.moves.downtime import downtime_notes
from planner.moves.going_back import shut_ways_back
from planner.moves.orders import in_weeks
from planner.moves.progress import Mark, Progress
from planner.moves.schedule import Options, Schedule, schedule
from planner.moves.search import Aimed
from planner.moves.spending import too_dear
from planner.moves.walk import walk
from planner.moves.wave import Dates, Order, Wave, told
from planner.moves.windows import zone_of
from planner.moves.work import Work, rest_of, work_of
from planner.order import Sort
from planner.plan import Outcome
from planner.site import Site
from planner.state import State, state_today
from planner.verify import Breach

SOME_MONDAY = date(2001, 1, 1)
"""Where a schedule is sought without a first day; its dates are taken off again."""


@dataclass(frozen=True)
class Arranged:
    """What is left to do as an order, and how good it is; ``ways_out`` where there is none.

    ``whole`` is the order from the very first wave on, which is what is judged. ``outcome`` is None for
    waves that nothing was proven about.
    """

    order: Order
    whole: Order
    outcome: Outcome | None = None
    aims: tuple[Aimed, ...] = ()
    ways_out: tuple[str, ...] = ()
    breaches: tuple[Breach, ...] = ()

    @property
    def is_possible(self) -> bool:
        """True when the order keeps every limit on the way."""
        return self.outcome not in (Outcome.INFEASIBLE, Outcome.STOPPED_EMPTY)


@dataclass(frozen=True)
class Course:
    """What is to be carried out on a site, and how far it has come."""

    site: Site
    state: State
    progress: Progress = field(default_factory=Progress)

    def all_work(self) -> Work:
        """Give all the work, what is done included."""
        return work_of(Change(self.site, self.state))

    def strange(self) -> tuple[str, ...]:
        """Give the tasks with a mark that the work does not know: the marks belong to another plan."""
        known = self.all_work().tasks
        marked = (id_ for entry in self.progress.entries for id_ in entry.tasks)
        return tuple(dict.fromkeys(id_ for id_ in marked if id_ not in known))

    def arranged(self, options: Options, cancel: threading.Event | None = None) -> Arranged:
        """Arrange what is left: on dates where a first day is known, else in waves without dates.

        None is possible while a service would be down for longer than it bears, or while something costs more
        than a month has.
        """
        work = rest_of(self.all_work(), self.progress.done.keys())
        is_dated = (options.start or self.site.windows.start_date) is not None
        in_the_way = (*downtime_notes(work), *(too_dear(work) if is_dated else ()))
        if in_the_way:
            none = Order((), (), ())
            return Arranged(none, none, Outcome.INFEASIBLE, ways_out=in_the_way)
        if is_dated:
            return self._scheduled(options, cancel)
        found = in_weeks(work, hours=wave_hours(self.site), first=self.progress.waves_done + 1)
        judged = self._judged(found)
        if not found.breaches and not judged.breaches:
            return judged
        start = next_day([entry.at for entry in self.progress.standing]) or SOME_MONDAY
        return self._undated(self._scheduled(replace(options, start=start), cancel))

    def _scheduled(self, options: Options, cancel: threading.Event | None) -> Arranged:
        found = schedule(self.site, self.state, options, progress=self.progress, cancel=cancel)
        if found.outcome in (Outcome.INFEASIBLE, Outcome.STOPPED_EMPTY):
            return Arranged(found.order, found.order, found.outcome, (), _reasons(found))
        judged = replace(self._judged(found.order), outcome=found.outcome, aims=found.aims)
        outages = self.all_work().untied.outages
        if judged.breaches and outages:
            # What waits for itself across waves cannot be done wave by wave, and the work says so.
            return replace(judged, outcome=Outcome.INFEASIBLE, ways_out=found.ways_out, breaches=())
        return judged

    def _undated(self, found: Arranged) -> Arranged:
        waves = tuple(replace(wave, start=None, end=None) for wave in found.order.waves)
        if not found.is_possible:
            return replace(found, order=replace(found.order, waves=waves))
        return replace(self._judged(replace(found.order, waves=waves)), ways_out=found.ways_out)

    def kept(self) -> Arranged | None:
        """Give the order that is worked from; None when there is none, or it is not what is left to do."""
        work = rest_of(self.all_work(), self.progress.done.keys())
        open_ids = {id_ for block in work.blocks for id_ in block.ids}
        booked = [item for item in self.progress.order if open_ids & {*item.tasks}]
        if not booked or sorted(id_ for item in booked for id_ in item.tasks) != sorted(open_ids):
            return None
        zone = zone_of(self.site.windows)
        dates = [
            Dates(item.start.astimezone(zone), item.end.astimezone(zone))
            for item in booked
            if item.start is not None and item.end is not None
        ]
        batches = [_blocks(work, item.tasks) for item in booked]
        is_dated = len(dates) == len(booked)
        found = told(work, batches, dates if is_dated else None, first=self.progress.waves_done + 1)
        return self._judged(found)

    def _judged(self, found: Order) -> Arranged:
        past = self.done_waves(found)
        waves = (*past, *found.waves)
        shut = tuple(shut_ways_back(self.all_work(), waves, len(past) + 1))
        found = replace(found, notes=(*found.notes, *shut))
        whole = replace(found, waves=waves)
        return Arranged(found, whole, breaches=walk(self.site, self.state, whole, len(past)))

    def done_waves(self, rest: Order | None = None) -> tuple[Wave, ...]:
        """Give the waves that stand, numbered in their order, dated where the rest of an order is."""
        work = self.all_work()
        standing = self.progress.standing
        batches = [_blocks(work, entry.tasks) for entry in standing]
        is_dated = rest is None or all(wave.start is not None for wave in rest.waves)
        zone = zone_of(self.site.windows)
        dates = [Dates((entry.at - timedelta(hours=1)).astimezone(zone), entry.at) for entry in standing]
        return told(work, batches, dates if is_dated else None).waves

    def state_now(self) -> State:
        """Give the state in which what is left begins."""
        past = self.done_waves()
        return past[-1].state_after if past else state_today(self.site)

    def compared(self) -> tuple[Compared, ...]:
        """Set what was read after the waves that stand against what was foretold."""
        readings = self.progress.read_after()
        states = {wave.number: wave.state_after for wave in self.done_waves()} if readings else {}
        return all_compared(self.site, {0: state_today(self.site), **states}, readings, self.state)


def _blocks(work: Work, tasks: Iterable[str]) -> set[str]:
    return {work.of_task[id_] for id_ in tasks if id_ in work.of_task}


def _reasons(found: Schedule) -> tuple[str, ...]:
    return found.ways_out or tuple(found.order.breaches)


def wave_hours(site: Site) -> float:
    """Give how long a wave without a date may be: the longest window there is, else the trade's habit."""
    return max((item.hours for item in site.windows.recurring), default=WAVE_HOURS)


def too_early(work: Work, done: Collection[str]) -> Iterator[tuple[str, str]]:
    """Give (task, task before it) where something counts as done whose forerunner does not."""
    for link in work.links:
        if link.after in done and link.before not in done:
            yield link.after, link.before


def gone_for_good(wave: Wave) -> tuple[str, ...]:
    """Give the boxes that a wave takes out of the room: nothing rolls that back."""
    return tuple(task.subject for task in wave.tasks if task.sort is Sort.RETIRE)


def first_day(course: Course, asked: date | None = None, soonest: date | None = None) -> date | None:
    """Give the first day of what is left; None for waves without dates."""
    booked = [item.start.date() for item in course.progress.order if item.start is not None]
    known = asked or (min(booked) if booked else None) or course.site.windows.start_date
    if known is None:
        return None
    marks = [entry.at for entry in course.progress.entries if entry.mark is not Mark.MOVED]
    return max(day for day in (known, next_day(marks), soonest) if day is not None)


def next_day(moments: Sequence[datetime]) -> date | None:
    """Give the day after the last of some moments."""
    return max(moments).date() + timedelta(days=1) if moments else None
