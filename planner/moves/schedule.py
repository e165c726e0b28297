"""The scheduler: the work into dated windows, each aim proven in turn while the ones before are held."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from functools import cached_property

import pulp

from planner import facts
from planner.milp import Answer, Ending
from planner.moves.change import Change
from planner.moves.course import Worth, slots_of, strained, worth
from planner.moves.downtime import downtime_notes
from planner.moves.limits import Strain
from planner.moves.links import Lag
from planner.moves.model import Model, least_windows
from planner.moves.orders import best_built
from planner.moves.progress import Progress
from planner.moves.rows import add_limits
from planner.moves.search import AIMS, Aimed, Search
from planner.moves.spending import budgeted, spent_by_month
from planner.moves.wave import Dates, Order, told
from planner.moves.waves import Slot, built
from planner.moves.ways import ways_out
from planner.moves.windows import Window, windows
from planner.moves.work import Work, rest_of, work_of
from planner.plan import Outcome
from planner.site import Site
from planner.state import State

MOST_WINDOWS = 160
SPARE_WINDOWS = 2
"""How many windows beyond the start's last one a schedule may use to need fewer of them."""

SEARCHED_WINDOWS = 24
"""So many windows are searched at least where building one by one finds no schedule; none there: none."""

BUILDING_SHARE = 0.2
"""The share of the time after which no other way of building is begun once one has worked."""

FEW_WINDOWS = 12
"""How many windows are enough to see what lacks, or twice what is needed at the least."""


@dataclass(frozen=True)
class Options:
    """How to schedule: the first day, seconds for all aims together, the solver's seed."""

    start: date | None = None
    time_s: float = 20.0
    seed: int = 0


@dataclass(frozen=True)
class Schedule:
    """An order on dates and how good it is proven; ``ways_out`` of what stands in its way, in words.

    Where no schedule holds every limit, ``order`` is one that passes some, and says which and when. Boxes
    that wait for each other are done with an announced outage, which ``ways_out`` names too.
    ``windows`` are those that were looked at; the aims are proven among them.
    """

    order: Order
    windows: tuple[Window, ...]
    outcome: Outcome
    aims: tuple[Aimed, ...] = ()
    ways_out: tuple[str, ...] = ()
    worth: Worth | None = None
    seconds: float = 0.0


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
                    yield name, max(ends) + facts.DAY_H

    def _hour(self, moment: datetime) -> float:
        return (moment.astimezone(UTC) - self.when[0].start.astimezone(UTC)).total_seconds() / 3600.0

    @property
    def searched(self) -> int:
        """How many windows are searched where building one by one finds no schedule."""
        return max(SEARCHED_WINDOWS, 2 * least_windows(self.work, self.slots))

    def search(self, slots: Sequence[Slot], share: float = 1.0) -> Search:
        """Give a search over some slots with a share of the time."""
        model = Model(self.work, slots, self.ready_h)
        add_limits(model)
        options = self.options
        return Search(model, options.time_s * share, options.seed, self.cancel, self.began)

    def told(self, batches: Sequence[set[str]]) -> Order:
        """Give batches as an order on dates."""
        dates = [Dates(window.start, window.end) for window in self.when[: len(batches)]]
        return told(self.work, batches, dates, first=self.first)


def schedule(
    site: Site,
    state: State,
    options: Options | None = None,
    *,
    progress: Progress | None = None,
    cancel: threading.Event | None = None,
) -> Schedule:
    """Put the work from a site today to a state into its maintenance windows, what is done left out.

    Raises ValueError when there is no first day or the time zone is not known, KeyError when the state does
    not carry a service of the site.
    """
    chosen, so_far = options or Options(), progress or Progress()
    when = windows(site.windows, MOST_WINDOWS, chosen.start)
    work = work_of(Change(site, state))
    return scheduled(Job(work, when, chosen, cancel, so_far.done, so_far.waves_done + 1, so_far.not_before))


def scheduled(job: Job) -> Schedule:
    """Put work into windows: built one by one first, then made better and proven."""
    work = job.work
    if not work.blocks:
        return Schedule(job.told([]), (), Outcome.PROVEN)
    first = _built(job)
    if first is None:
        wide = job.search(job.slots[: job.searched], 0.5)
        answer = wide.solve(pulp.lpSum(wide.model.used), wide.left_s, gap=0.5)
        if wide.best is None:
            return _without(job, answer)
        first = wide.best
    near = job.slots[: max(i for i, batch in enumerate(first) if batch) + 1 + SPARE_WINDOWS]
    search = job.search(near)
    search.best = first
    aims = search.improve(AIMS)
    best = search.best
    outcome = Outcome.PROVEN if all(aim.proven for aim in aims) else Outcome.STOPPED_WITH_PLAN
    seconds = time.monotonic() - job.began
    return Schedule(
        job.told(best),
        tuple(job.when[: len(near)]),
        outcome,
        aims,
        (*work.knots, *downtime_notes(work)),
        worth(work, near, best),
        seconds,
    )


def _built(job: Job) -> list[set[str]] | None:
    """Build a schedule window by window; None when that leaves something undone or passes a limit."""
    return best_built(job.work, job.slots, job.ready_h, job.began + BUILDING_SHARE * job.options.time_s)


def _nearest(job: Job, batches: Sequence[set[str]]) -> tuple[str, ...]:
    """Say which limits the order passes that was built in spite of them."""
    worst: dict[tuple[str, str], Strain] = {}
    for _, over in strained(job.work, batches):
        for item in over:
            key = item.rule, item.where
            worst[key] = max(item, worst.get(key, item), key=lambda strain: strain.value)
    return tuple(f"in the nearest one {item.text}." for item in worst.values())


def _without(job: Job, answer: Answer) -> Schedule:
    """Say what stands in the way, with an order that passes some limits and says which."""
    tried = [built(job.work, job.slots, force=True, ready_h=job.ready_h, lazy=lazy) for lazy in (False, True)]
    batches = min(tried, key=lambda found: len(strained(job.work, found)))
    impossible = answer.ending is Ending.INFEASIBLE
    time_s = max(5.0, job.options.time_s / 2.0)
    enough = max(FEW_WINDOWS, 2 * least_windows(job.work, job.slots))
    model = Model(job.work, job.slots[:enough], job.ready_h)
    found = ways_out(model, job.options.seed, time_s)
    if not found:
        found = (
            f"no schedule was found in {job.options.time_s:.0f} s: give it more time.",
            *_nearest(job, batches),
        )
    return Schedule(
        job.told(batches),
        tuple(job.when[: len(batches)]),
        Outcome.INFEASIBLE if impossible else Outcome.STOPPED_EMPTY,
        (),
        found,
        None,
        time.monotonic() - job.began,
    )
