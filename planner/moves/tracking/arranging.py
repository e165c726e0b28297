"""What is left of the work put in order: quick lists, then any order that the judge passes, then programmes.

Wishes give way where no order keeps them; that none exists is only said where it is proven.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from planner.domain.conflict import Conflict
from planner.domain.plan import INTERRUPTED, Outcome
from planner.moves.exhaustive.fallback import Fallback, list_wishes_given_up, search_any_order
from planner.moves.grid.monthly_budget import find_dear_together, find_too_dear
from planner.moves.grid.windows import MOST_WINDOWS, build_windows
from planner.moves.params import PARAMS
from planner.moves.scheduling.request import Options
from planner.moves.scheduling.schedule import (
    name_time_limit,
    schedule,
    solve_explanation,
)
from planner.moves.scheduling.undated import build_undated
from planner.moves.tasks.downtime import downtime_notes
from planner.moves.tasks.walk import written
from planner.moves.tasks.wave import Order, Wave
from planner.moves.tasks.work_packages import rest_of
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse, next_day, wave_hours

SOME_MONDAY = date(2001, 1, 1)
"""Where a schedule is sought without a first day; its dates are taken off again."""

UNBETTERED = "not made better: it was found by trying step after step"
ENDED = "its search came to its end before the time was used"
SHUT = "no window in two years"
NO_WINDOW = "every window of the two years looked at lies on a day left out: leave fewer days out."
NONE_YET = "it was interrupted before an order was found; that there is none is not proven."

Watch = Callable[[Order], None]


def arrange(
    course: OrderInUse,
    options: Options,
    cancel: threading.Event | None = None,
    watch: Watch | None = None,
) -> ArrangedOrder:
    """Search an order of what is left: on dates where a first day is known, else in waves without dates.

    ``watch`` hears of orders found on the way, which the judge has yet to walk. Raises ValueError where the
    time zone is not known.
    """
    return _Arranging(course, options, cancel, watch, time.monotonic()).arrange()


def kept_order(course: OrderInUse, told: Order | None, cause: str) -> ArrangedOrder:
    """Make what is left of a search that was lost: its last order, where the judge passes that."""
    if told is not None:
        found = course.judged(told)
        if not found.breaches:
            return replace(found, outcome=Outcome.STOPPED_WITH_PLAN, stopped_by=cause)
    none = Order((), (), ())
    words = NONE_YET if cause == INTERRUPTED else f"no order was found before {cause}."
    return ArrangedOrder(none, none, Outcome.STOPPED_EMPTY, said=(words,), stopped_by=cause)


@dataclass(frozen=True)
class _Arranging:
    """A course to be put in order, how, and since when."""

    course: OrderInUse
    options: Options
    cancel: threading.Event | None
    watch: Watch | None
    began: float

    @property
    def is_dated(self) -> bool:
        """Whether the waves get dates."""
        return (self.options.start or self.course.site.windows.start_date) is not None

    @property
    def is_called_off(self) -> bool:
        """Whether the search is to end."""
        return self.cancel is not None and self.cancel.is_set()

    @property
    def left_s(self) -> float:
        """The seconds left for a schedule, or for reasons."""
        return max(PARAMS.least_s, self.began + self.options.time_s - time.monotonic())

    def arrange(self) -> ArrangedOrder:
        """Search an order; see the function of that name."""
        without = self._without_search()
        if without is not None:
            return without
        quick = self._planned(self.options, seek=False)
        if quick.is_good:
            return quick
        found = self._any(PARAMS.any_share)
        if not found.is_proof and not self.is_called_off:
            for wishes in (True, False):
                planned = self._planned(replace(self.options, time_s=self.left_s), wishes=wishes)
                if planned.is_good:
                    return planned if wishes else self._said(planned)
        if not found.is_proof and found.order is None:
            found = self._any(PARAMS.anyhow_share)
        if found.order is None:
            return self._none(quick, found)
        judged = self.course.judged(found.order)
        if not self.is_dated:
            return judged
        return replace(judged, outcome=Outcome.STOPPED_WITH_PLAN, stopped_by=UNBETTERED)

    def _without_search(self) -> ArrangedOrder | None:
        """Look up tasks that the judge refuses in any order, and whether there is a window at all.

        None is possible while a service would be down for longer than it bears, or, with dates, while a task
        costs more than a month has. That two years have no window proves nothing about the years after.
        """
        course, done = self.course, self.course.progress.done.keys()
        work, none = rest_of(course.all_work(), done), Order((), (), ())
        down, dear = (
            tuple(downtime_notes(work, done)),
            tuple(find_too_dear(work, done) if self.is_dated else ()),
        )
        if down or dear:
            return ArrangedOrder(none, none, Outcome.INFEASIBLE, said=down, conflicts=dear)
        if self.is_dated and work.blocks and not build_windows(course.site.windows, 1, self.options.start):
            return ArrangedOrder(none, none, Outcome.STOPPED_EMPTY, said=(NO_WINDOW,), stopped_by=SHUT)
        return None

    def _said(self, planned: ArrangedOrder) -> ArrangedOrder:
        """Say which wishes an order by the rules alone does not keep."""
        course = self.course
        given_up = list_wishes_given_up(
            course.all_work(), written(planned.order).waves, frozenset(course.progress.done)
        )
        return replace(planned, order=replace(planned.order, notes=(*planned.order.notes, *given_up)))

    def _planned(self, options: Options, *, wishes: bool = True, seek: bool = True) -> ArrangedOrder:
        """Build waves without dates, or schedule; with the wishes of good practice or by the rules alone."""
        if self.is_dated:
            return self._scheduled(options, wishes=wishes, seek=seek)
        course = self.course
        work = rest_of(course.all_work(wishes=wishes), course.progress.done.keys())
        judged = course.judged(
            build_undated(work, hours=wave_hours(course.site), first=course.progress.waves_done + 1)
        )
        if not judged.order.breaches and not judged.breaches:
            return judged
        return self._undated(self._scheduled(self._some_start(options), wishes=wishes, seek=seek))

    def _some_start(self, options: Options) -> Options:
        start = next_day([entry.at for entry in self.course.progress.standing]) or SOME_MONDAY
        return replace(options, start=start)

    def _any(self, share: float) -> Fallback:
        """Search any order that the judge passes, until a share of the time is over."""
        course = self.course
        when = build_windows(course.site.windows, MOST_WINDOWS, self.options.start) if self.is_dated else None
        waves = course.done_waves() if self.is_dated else _undated(course.done_waves())
        past = written(Order(waves, (), ()), len(waves)).waves
        until = self.began + share * self.options.time_s
        return search_any_order(course.all_work(), past, course.progress, when, until, self.cancel)

    def _none(self, nearest: ArrangedOrder, found: Fallback) -> ArrangedOrder:
        """Say what stands in the way, and whether it is proven that there is no order."""
        if self.is_called_off and not found.is_proof:
            return replace(
                nearest,
                outcome=Outcome.STOPPED_EMPTY,
                said=(NONE_YET,),
                breaches=(),
                stopped_by=INTERRUPTED,
            )
        course, options = self.course, self.options
        chosen = replace(options if self.is_dated else self._some_start(options), time_s=self.left_s)
        said, conflicts = solve_explanation(course.site, course.state, chosen, course.progress, self.cancel)
        nearest = replace(nearest, said=said, conflicts=conflicts, breaches=())
        if found.is_proof:
            return replace(nearest, outcome=Outcome.INFEASIBLE)
        unsure = found.reason or (
            f"no order was found in {options.time_s:.0f} s, and that there is none is not proven: give it "
            "more --time."
        )
        return replace(
            nearest,
            outcome=Outcome.STOPPED_EMPTY,
            said=(unsure, *said),
            conflicts=(*self._dear_together(), *conflicts),
            stopped_by=ENDED if found.reason else name_time_limit(options.time_s),
        )

    def _dear_together(self) -> Iterator[Conflict]:
        if self.is_dated:
            done = self.course.progress.done.keys()
            yield from find_dear_together(rest_of(self.course.all_work(wishes=False), done))

    def _scheduled(self, options: Options, *, wishes: bool, seek: bool) -> ArrangedOrder:
        course = self.course
        found = schedule(
            course.site,
            course.state,
            options,
            progress=course.progress,
            cancel=self.cancel,
            watch=self._tell,
            wishes=wishes,
            seek=seek,
            explain=False,
        )
        if found.outcome in (Outcome.INFEASIBLE, Outcome.STOPPED_EMPTY):
            return ArrangedOrder(
                found.order, found.order, found.outcome, said=found.said, conflicts=found.conflicts
            )
        return replace(
            course.judged(found.order),
            outcome=found.outcome,
            aims=found.aims,
            stopped_by=found.stopped_by,
        )

    def _tell(self, order: Order) -> None:
        if self.watch is not None:
            self.watch(order if self.is_dated else replace(order, waves=_undated(order.waves)))

    def _undated(self, found: ArrangedOrder) -> ArrangedOrder:
        waves = _undated(found.order.waves)
        if not found.is_possible:
            return replace(found, order=replace(found.order, waves=waves))
        judged = self.course.judged(replace(found.order, waves=waves))
        return replace(judged, said=found.said, conflicts=found.conflicts)


def _undated(waves: Sequence[Wave]) -> tuple[Wave, ...]:
    return tuple(replace(wave, start=None, end=None) for wave in waves)
