"""The order that people work from: judged as a whole, kept and marked.

Why so: the order that is worked from is kept with the marks beside the inventory. A schedule that was
stopped by the clock may come out differently next time, and ``--done 3`` must mean the wave 3 on the paper.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from planner.domain.conflict import Conflict
from planner.domain.order import Sort
from planner.domain.plan import Outcome
from planner.domain.practice import WAVE_HOURS
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.moves.grid.windows import zone_of
from planner.moves.scheduling.aim_result import AimResult
from planner.moves.tasks.progress import Mark, Progress
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.walk import walk
from planner.moves.tasks.wave import Dates, Order, Wave, build_order
from planner.moves.tasks.work_packages import Work, rest_of, work_of
from planner.moves.tracking.comparison import Compared, all_compared
from planner.moves.tracking.rollback_conflicts import shut_ways_back
from planner.verify import Breach


@dataclass(frozen=True)
class ArrangedOrder:
    """What is left to do as an order, and how good it is; ``conflicts`` and what is ``said`` of none.

    ``whole`` is the order from the very first wave on, which is what is judged. ``outcome`` is None for
    waves that nothing was proven about, ``stopped_by`` says what ended a search that proved nothing.
    """

    order: Order
    whole: Order
    outcome: Outcome | None = None
    aims: tuple[AimResult, ...] = ()
    said: tuple[str, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
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
        """Find the tasks with a mark that the work does not know: the marks belong to another plan."""
        known = self.all_work().tasks
        marked = (id_ for entry in self.progress.entries for id_ in entry.tasks)
        return tuple(dict.fromkeys(id_ for id_ in marked if id_ not in known))

    def kept(self) -> ArrangedOrder | None:
        """Look up the order that is worked from; None when there is none, or it is not what is left to do."""
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
        return self.judged(found)

    def judged(self, found: Order) -> ArrangedOrder:
        """Have the judge walk an order of what is left, from the very first wave on."""
        past = self.done_waves(found)
        waves = (*past, *found.waves)
        shut = tuple(shut_ways_back(self.all_work(), waves, len(past) + 1))
        found = replace(found, notes=(*found.notes, *shut))
        whole = replace(found, waves=waves)
        return ArrangedOrder(found, whole, breaches=walk(self.site, self.state, whole, len(past)))

    def done_waves(self, rest: Order | None = None) -> tuple[Wave, ...]:
        """Build the waves that stand, numbered in their order, dated where the rest of an order is."""
        work = self.all_work()
        standing = self.progress.standing
        batches = [_blocks(work, entry.tasks) for entry in standing]
        is_dated = rest is None or all(wave.start is not None for wave in rest.waves)
        zone = zone_of(self.site.windows)
        dates = [Dates((entry.at - timedelta(hours=1)).astimezone(zone), entry.at) for entry in standing]
        return build_order(work, batches, dates if is_dated else None).waves

    def state_now(self) -> State:
        """Look up the state in which what is left begins."""
        past = self.done_waves()
        return past[-1].state_after if past else state_today(self.site)

    def compared(self) -> tuple[Compared, ...]:
        """Set what was read after the waves that stand against what was foretold."""
        readings = self.progress.read_after()
        states = {wave.number: wave.state_after for wave in self.done_waves()} if readings else {}
        return all_compared(self.site, {0: state_today(self.site), **states}, readings, self.state)


def _blocks(work: Work, tasks: Iterable[str]) -> set[str]:
    return {work.of_task[id_] for id_ in tasks if id_ in work.of_task}


def wave_hours(site: Site) -> float:
    """Look up how long a wave without a date may be: the longest window there is, else the trade's habit."""
    return max((item.hours for item in site.windows.recurring), default=WAVE_HOURS)


def too_early(work: Work, done: Collection[str]) -> Iterator[tuple[str, str]]:
    """Find (task, task before it) where something counts as done whose forerunner does not."""
    for link in work.links:
        if not link.wish and link.after in done and link.before not in done:
            yield link.after, link.before


def gone_for_good(wave: Wave) -> tuple[str, ...]:
    """List the boxes that a wave takes out of the room: nothing rolls that back."""
    return tuple(task.subject for task in wave.tasks if task.sort is Sort.RETIRE)


def first_day(course: OrderInUse, asked: date | None = None, soonest: date | None = None) -> date | None:
    """Find the first day of what is left; None for waves without dates."""
    booked = [item.start.date() for item in course.progress.order if item.start is not None]
    known = asked or (min(booked) if booked else None) or course.site.windows.start_date
    if known is None:
        return None
    marks = [entry.at for entry in course.progress.entries if entry.mark is not Mark.MOVED]
    return max(day for day in (known, next_day(marks), soonest) if day is not None)


def next_day(moments: Sequence[datetime]) -> date | None:
    """Compute the day after the last of some moments."""
    return max(moments).date() + timedelta(days=1) if moments else None
