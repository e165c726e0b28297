"""The order that people work from: arranged with or without dates, judged as a whole, kept and marked.

Why so: the order that is worked from is kept with the marks beside the inventory. A schedule that was
stopped by the clock may come out differently next time, and ``--done 3`` must mean the wave 3 on the paper.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from planner.domain.order import Sort
from planner.domain.plan import Outcome
from planner.domain.practice import WAVE_HOURS
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.moves.grid.monthly_budget import dear_together, too_dear
from planner.moves.scheduling.fallback import Fallback, any_order, wishes_given_up
from planner.moves.scheduling.request import Options
from planner.moves.scheduling.schedule import (
    INTERRUPTED,
    reasons,
    schedule,
    time_limit,
)
from planner.moves.scheduling.search import AimResult
from planner.moves.scheduling.undated import build_undated
from planner.moves.tasks.downtime import downtime_notes
from planner.moves.tasks.progress import Mark, Progress
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.walk import walk, written
from planner.moves.tasks.wave import Dates, Order, Wave, build_order
from planner.moves.tasks.windows import MOST_WINDOWS, windows, zone_of
from planner.moves.tasks.work_packages import Work, rest_of, work_of
from planner.moves.tracking.comparison import Compared, all_compared
from planner.moves.tracking.rollback_conflicts import shut_ways_back
from planner.verify import Breach

SOME_MONDAY = date(2001, 1, 1)
"""Where a schedule is sought without a first day; its dates are taken off again."""


ANY_SHARE = 0.3
"""The share of the time until which any order is searched before the scheduler solves programmes."""

ANYHOW_SHARE = 0.85
"""The share of the time after which the search for any order ends, for the reasons take some."""

LEAST_S = 3.0
"""Seconds that are left at least for a schedule, or for reasons."""

UNBETTERED = "not made better: it was found by trying step after step"
ENDED = "its search came to its end before the time was used"
SHUT = "no window in two years"
NO_WINDOW = "every window of the two years looked at lies on a day left out: leave fewer days out."


@dataclass(frozen=True)
class ArrangedOrder:
    """What is left to do as an order, and how good it is; ``ways_out`` where there is none.

    ``whole`` is the order from the very first wave on, which is what is judged. ``outcome`` is None for
    waves that nothing was proven about, ``stopped_by`` says what ended a search that proved nothing.
    """

    order: Order
    whole: Order
    outcome: Outcome | None = None
    aims: tuple[AimResult, ...] = ()
    ways_out: tuple[str, ...] = ()
    breaches: tuple[Breach, ...] = ()
    stopped_by: str = ""

    @property
    def is_possible(self) -> bool:
        """True when the order keeps every limit on the way."""
        return self.outcome not in (Outcome.INFEASIBLE, Outcome.STOPPED_EMPTY)

    @property
    def is_good(self) -> bool:
        """True when there is an order with which the judge finds nothing wrong."""
        return self.is_possible and not self.breaches


@dataclass(frozen=True)
class OrderInUse:
    """What is to be carried out on a site, and how far it has come."""

    site: Site
    state: State
    progress: Progress = field(default_factory=Progress)

    def all_work(self, *, wishes: bool = True) -> Work:
        """Derive all the work, what is done included; without ``wishes`` by the rules alone."""
        return work_of(Change(self.site, self.state), wishes=wishes)

    def strange(self) -> tuple[str, ...]:
        """Give the tasks with a mark that the work does not know: the marks belong to another plan."""
        known = self.all_work().tasks
        marked = (id_ for entry in self.progress.entries for id_ in entry.tasks)
        return tuple(dict.fromkeys(id_ for id_ in marked if id_ not in known))

    def arrange(self, options: Options, cancel: threading.Event | None = None) -> ArrangedOrder:
        """Arrange what is left: on dates where a first day is known, else in waves without dates.

        Wishes give way where no order keeps them; that none exists is only said where it is proven.
        """
        began, is_dated = time.monotonic(), self._is_dated(options)
        without = self._without_search(options)
        if without is not None:
            return without
        quick = self._planned(options, cancel, seek=False)
        if quick.is_good:
            return quick
        found = self._any(options, cancel, began + ANY_SHARE * options.time_s)
        if not found.is_proof and not _is_set(cancel):
            for wishes in (True, False):
                left_s = max(LEAST_S, began + options.time_s - time.monotonic())
                planned = self._planned(replace(options, time_s=left_s), cancel, wishes=wishes)
                if planned.is_good:
                    return planned if wishes else self._said(planned)
        if not found.is_proof and found.order is None:
            found = self._any(options, cancel, began + ANYHOW_SHARE * options.time_s)
        if found.order is None:
            return self._none(quick, found, options, began, cancel)
        judged = self._judged(found.order)
        if not is_dated:
            return judged
        return replace(judged, outcome=Outcome.STOPPED_WITH_PLAN, stopped_by=UNBETTERED)

    def _without_search(self, options: Options) -> ArrangedOrder | None:
        """Look up tasks that the judge refuses in any order, and whether there is a window at all.

        None is possible while a service would be down for longer than it bears, or, with dates, while a task
        costs more than a month has. That two years have no window proves nothing about the years after.
        """
        is_dated, done = self._is_dated(options), self.progress.done.keys()
        work, none = rest_of(self.all_work(), done), Order((), (), ())
        refused = (*downtime_notes(work, done), *(too_dear(work, done) if is_dated else ()))
        if refused:
            return ArrangedOrder(none, none, Outcome.INFEASIBLE, ways_out=refused)
        if is_dated and work.blocks and not windows(self.site.windows, 1, options.start):
            return ArrangedOrder(none, none, Outcome.STOPPED_EMPTY, ways_out=(NO_WINDOW,), stopped_by=SHUT)
        return None

    def _said(self, planned: ArrangedOrder) -> ArrangedOrder:
        """Say which wishes an order by the rules alone does not keep."""
        given_up = wishes_given_up(
            self.all_work(), written(planned.order).waves, frozenset(self.progress.done)
        )
        return replace(planned, order=replace(planned.order, notes=(*planned.order.notes, *given_up)))

    def _is_dated(self, options: Options) -> bool:
        return (options.start or self.site.windows.start_date) is not None

    def _planned(
        self,
        options: Options,
        cancel: threading.Event | None,
        *,
        wishes: bool = True,
        seek: bool = True,
    ) -> ArrangedOrder:
        """Build waves without dates, or schedule; with the wishes of good practice or by the rules alone."""
        if self._is_dated(options):
            return self._scheduled(options, cancel, wishes=wishes, seek=seek)
        work = rest_of(self.all_work(wishes=wishes), self.progress.done.keys())
        judged = self._judged(
            build_undated(work, hours=wave_hours(self.site), first=self.progress.waves_done + 1)
        )
        if not judged.order.breaches and not judged.breaches:
            return judged
        return self._undated(self._scheduled(self._some_start(options), cancel, wishes=wishes, seek=seek))

    def _some_start(self, options: Options) -> Options:
        start = next_day([entry.at for entry in self.progress.standing]) or SOME_MONDAY
        return replace(options, start=start)

    def _any(self, options: Options, cancel: threading.Event | None, until: float) -> Fallback:
        """Search any order that the judge passes."""
        is_dated = self._is_dated(options)
        when = windows(self.site.windows, MOST_WINDOWS, options.start) if is_dated else None
        waves = self.done_waves() if is_dated else _undated(self.done_waves())
        past = written(Order(waves, (), ()), len(waves)).waves
        return any_order(self.all_work(), past, self.progress, when, until, cancel)

    def _none(
        self,
        nearest: ArrangedOrder,
        found: Fallback,
        options: Options,
        began: float,
        cancel: threading.Event | None,
    ) -> ArrangedOrder:
        """Say what stands in the way, and whether it is proven that there is no order."""
        if _is_set(cancel) and not found.is_proof:
            words = "it was interrupted before an order was found; that there is none is not proven."
            return replace(
                nearest,
                outcome=Outcome.STOPPED_EMPTY,
                ways_out=(words,),
                breaches=(),
                stopped_by=INTERRUPTED,
            )
        chosen = options if self._is_dated(options) else self._some_start(options)
        left_s = max(LEAST_S, began + options.time_s - time.monotonic())
        told = reasons(self.site, self.state, replace(chosen, time_s=left_s), self.progress, cancel)
        if found.is_proof:
            return replace(nearest, outcome=Outcome.INFEASIBLE, ways_out=told, breaches=())
        unsure = found.reason or (
            f"no order was found in {options.time_s:.0f} s, and that there is none is not proven: give it "
            "more --time."
        )
        return replace(
            nearest,
            outcome=Outcome.STOPPED_EMPTY,
            ways_out=(unsure, *self._dear_together(options), *told),
            breaches=(),
            stopped_by=ENDED if found.reason else time_limit(options.time_s),
        )

    def _dear_together(self, options: Options) -> Iterator[str]:
        if self._is_dated(options):
            yield from dear_together(rest_of(self.all_work(wishes=False), self.progress.done.keys()))

    def _scheduled(
        self, options: Options, cancel: threading.Event | None, *, wishes: bool, seek: bool
    ) -> ArrangedOrder:
        found = schedule(
            self.site,
            self.state,
            options,
            progress=self.progress,
            cancel=cancel,
            wishes=wishes,
            seek=seek,
            explain=False,
        )
        if found.outcome in (Outcome.INFEASIBLE, Outcome.STOPPED_EMPTY):
            return ArrangedOrder(found.order, found.order, found.outcome, (), found.ways_out)
        return replace(
            self._judged(found.order),
            outcome=found.outcome,
            aims=found.aims,
            stopped_by=found.stopped_by,
        )

    def _undated(self, found: ArrangedOrder) -> ArrangedOrder:
        waves = _undated(found.order.waves)
        if not found.is_possible:
            return replace(found, order=replace(found.order, waves=waves))
        return replace(self._judged(replace(found.order, waves=waves)), ways_out=found.ways_out)

    def kept(self) -> ArrangedOrder | None:
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
        found = build_order(work, batches, dates if is_dated else None, first=self.progress.waves_done + 1)
        return self._judged(found)

    def _judged(self, found: Order) -> ArrangedOrder:
        past = self.done_waves(found)
        waves = (*past, *found.waves)
        shut = tuple(shut_ways_back(self.all_work(), waves, len(past) + 1))
        found = replace(found, notes=(*found.notes, *shut))
        whole = replace(found, waves=waves)
        return ArrangedOrder(found, whole, breaches=walk(self.site, self.state, whole, len(past)))

    def done_waves(self, rest: Order | None = None) -> tuple[Wave, ...]:
        """Give the waves that stand, numbered in their order, dated where the rest of an order is."""
        work = self.all_work()
        standing = self.progress.standing
        batches = [_blocks(work, entry.tasks) for entry in standing]
        is_dated = rest is None or all(wave.start is not None for wave in rest.waves)
        zone = zone_of(self.site.windows)
        dates = [Dates((entry.at - timedelta(hours=1)).astimezone(zone), entry.at) for entry in standing]
        return build_order(work, batches, dates if is_dated else None).waves

    def state_now(self) -> State:
        """Give the state in which what is left begins."""
        past = self.done_waves()
        return past[-1].state_after if past else state_today(self.site)

    def compared(self) -> tuple[Compared, ...]:
        """Set what was read after the waves that stand against what was foretold."""
        readings = self.progress.read_after()
        states = {wave.number: wave.state_after for wave in self.done_waves()} if readings else {}
        return all_compared(self.site, {0: state_today(self.site), **states}, readings, self.state)


def _is_set(cancel: threading.Event | None) -> bool:
    return cancel is not None and cancel.is_set()


def _undated(waves: Sequence[Wave]) -> tuple[Wave, ...]:
    return tuple(replace(wave, start=None, end=None) for wave in waves)


def _blocks(work: Work, tasks: Iterable[str]) -> set[str]:
    return {work.of_task[id_] for id_ in tasks if id_ in work.of_task}


def wave_hours(site: Site) -> float:
    """Give how long a wave without a date may be: the longest window there is, else the trade's habit."""
    return max((item.hours for item in site.windows.recurring), default=WAVE_HOURS)


def too_early(work: Work, done: Collection[str]) -> Iterator[tuple[str, str]]:
    """Give (task, task before it) where something counts as done whose forerunner does not."""
    for link in work.links:
        if not link.wish and link.after in done and link.before not in done:
            yield link.after, link.before


def gone_for_good(wave: Wave) -> tuple[str, ...]:
    """Give the boxes that a wave takes out of the room: nothing rolls that back."""
    return tuple(task.subject for task in wave.tasks if task.sort is Sort.RETIRE)


def first_day(course: OrderInUse, asked: date | None = None, soonest: date | None = None) -> date | None:
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
