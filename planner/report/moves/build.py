"""Builds the page of a course of moves: what is left, what is done, and the noise until all is done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC

from planner.domain.conflict import Conflict
from planner.domain.order import Sort, task_named
from planner.domain.site import Site
from planner.moves.tasks.progress import Entry
from planner.moves.tasks.work_packages import rest_of
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse
from planner.report.common.conflicts import reasons
from planner.report.common.figures import finite
from planner.report.moves.noise_over_time import over_time
from planner.report.moves.page import (
    AimEntry,
    DoneEntry,
    MovesPage,
    ScheduleEntry,
    moves_page,
)
from planner.report.readings.page import reading_entry


def course_page(course: OrderInUse, outcome: str, arranged: ArrangedOrder) -> MovesPage:
    """Build the page of what is left of a course: with what is done, how good it is, and the noise over time.

    Where no order is possible, the page has none, and ``schedule`` says what stands in the way.
    """
    shown = arranged.order if arranged.is_possible else replace(arranged.order, waves=(), notes=())
    page = moves_page(course.site, outcome, shown)
    work = rest_of(course.all_work(), course.progress.done.keys())
    return replace(
        page,
        done=tuple(
            DoneEntry(number, _moved(entry), entry.tasks, entry.at.astimezone(UTC).isoformat())
            for number, entry in enumerate(course.progress.standing, start=1)
        ),
        readings=tuple(reading_entry(item) for item in course.compared()),
        schedule=_schedule(course.site, arranged),
        over_time=over_time(course.site, work, shown),
    )


def _moved(entry: Entry) -> tuple[str, ...]:
    named = [task_named(id_) for id_ in entry.tasks]
    return tuple(subject for sort, subject in named if sort is Sort.MOVE)


def _schedule(site: Site, arranged: ArrangedOrder) -> ScheduleEntry | None:
    if arranged.outcome is None:
        return None
    aims = tuple(
        AimEntry(aim.name, finite(aim.value, 3), finite(aim.bound, 3), aim.proven, aim.bound_by)
        for aim in arranged.aims
    )
    return ScheduleEntry(
        outcome=str(arranged.outcome),
        aims=aims,
        ways_out=ways_out(site, arranged.said, arranged.conflicts),
        conflicts=arranged.conflicts,
        stopped_by=arranged.stopped_by,
    )


def ways_out(site: Site, said: Sequence[str], conflicts: Sequence[Conflict]) -> tuple[str, ...]:
    """Word what stands in the way of an order, after what is said beside it."""
    return (*said, *reasons(site, None, conflicts))
