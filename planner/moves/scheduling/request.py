"""What is to be scheduled: work, windows, what is done of it since when, and how it is asked for."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from functools import cached_property

from planner.domain import practice
from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.grid.evaluation import build_slots
from planner.moves.grid.monthly_budget import compute_spent_by_month, set_budgets
from planner.moves.grid.slots import Slot
from planner.moves.grid.time_grid import TimeGrid
from planner.moves.grid.windows import MOST_WINDOWS, Window, build_windows
from planner.moves.params import ScheduleParams
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.progress import Progress
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.wave import Dates, Order, build_order
from planner.moves.tasks.work_packages import Work, rest_of, work_of


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
class Request:
    """What is to be scheduled: all the work, when, and what of it is done already since when."""

    all_work: Work
    when: Sequence[Window]
    options: Options
    cancel: threading.Event | None = None
    done: Mapping[str, datetime] = field(default_factory=dict)
    first: int = 1
    not_before: Mapping[str, datetime] = field(default_factory=dict)
    params: ScheduleParams = field(default_factory=ScheduleParams)
    began: float = field(default_factory=time.monotonic)
    watch: Callable[[Order], None] | None = None

    @cached_property
    def work(self) -> Work:
        """What is left to do."""
        return rest_of(self.all_work, self.done.keys())

    @cached_property
    def slots(self) -> list[Slot]:
        """The windows in hours from the first one's start."""
        site = self.work.change.site
        spent = compute_spent_by_month(self.all_work, self.done)
        return set_budgets(site, build_slots(self.when, site.windows.crew), self.when, spent)

    @cached_property
    def ready_h(self) -> dict[str, float]:
        """From which hour on a block may be done that was moved, or waits for what is done already."""
        moved = [(self.work.of_task.get(id_), at) for id_, at in self.not_before.items()]
        found = {name: self._hour(at) for name, at in moved if name is not None}
        for name, hour in (*self._after_links(), *self._after_conflicts()):
            found[name] = max(hour, found.get(name, hour))
        return found

    def _after_links(self) -> Iterator[tuple[str, float]]:
        for link in self.all_work.links:
            after = self.work.of_task.get(link.after)
            if link.lag is not Lag.SAME and after is not None and link.before in self.work.past:
                yield after, self._hour(self.done[link.before]) + link.lag.hours

    def _after_conflicts(self) -> Iterator[tuple[str, float]]:
        """Find what must not be done within a day of something that is done already."""
        for rule in self.all_work.nevers:
            past = [name for name in rule.blocks if name not in self.work.block]
            ends = [self._hour(self.done[id_]) for name in past for id_ in self.all_work.block[name].ids]
            for name in rule.blocks:
                if ends and name in self.work.block:
                    yield name, max(ends) + practice.DAY_H

    def _hour(self, moment: datetime) -> float:
        return (moment.astimezone(UTC) - self.when[0].start.astimezone(UTC)).total_seconds() / 3600.0

    def grid(self, count: int | None = None) -> TimeGrid:
        """Build the grid of the first windows, or of all of them."""
        return TimeGrid(self.work, self.slots[:count], self.ready_h)

    def build_order(self, batches: Sequence[set[str]]) -> Order:
        """Build the order on dates of batches of blocks, one a window."""
        used = self.when[: len(batches)]
        dates = [Dates(window.start, window.end) for window in used]
        cut = (window for window, batch in zip(used, batches, strict=True) if batch and window.cut)
        notes = tuple(f"The window of {window.start:%a %Y-%m-%d} {window.cut}." for window in cut)
        return build_order(self.work, batches, dates, notes, first=self.first)


def build_request(
    site: Site,
    state: State,
    options: Options,
    progress: Progress,
    cancel: threading.Event | None,
    *,
    wishes: bool,
) -> Request:
    """Build the request for the work from a site today to a state; without ``wishes`` by rules alone.

    Raises ValueError when there is no first day or the time zone is not known, KeyError when the state does
    not carry a service of the site.
    """
    when = build_windows(site.windows, MOST_WINDOWS, options.start)
    work = work_of(Change(site, state), wishes=wishes)
    first = progress.waves_done + 1
    return Request(work, when, options, cancel, progress.done, first, progress.not_before)
