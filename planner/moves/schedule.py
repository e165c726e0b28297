"""The scheduler: tasks into dated windows, each aim proven in turn while the ones before are held."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date

import pulp

from planner.milp import Answer, Ending, Limits, run
from planner.moves.change import Change
from planner.moves.course import Worth, critical, slots_of, spans_h, strained, worth
from planner.moves.model import Model
from planner.moves.rows import add_limits
from planner.moves.sums import Figures
from planner.moves.wave import Dates, Order, told
from planner.moves.waves import Slot, built
from planner.moves.ways import ways_out
from planner.moves.windows import Window, windows
from planner.moves.work import Work, work_of
from planner.plan import Outcome
from planner.site import Site
from planner.state import State

MOST_WINDOWS = 160
SPARE_WINDOWS = 2
"""How many windows beyond the start's last one a schedule may use to need fewer of them."""

SEARCHED_WINDOWS = 24
"""How many windows are searched where building one by one finds no schedule."""

MOST_CUTS = 25
FIRST_SHARE = 0.6
"""The share of the time left that an aim may take, so that the ones after it have some."""

HOLD_SHARE = 1e-6
"""How much an aim may be given up, as a share, while the next one is made better."""


@dataclass(frozen=True)
class Options:
    """How to schedule: the first day, seconds for all aims together, the solver's seed."""

    start: date | None = None
    time_s: float = 20.0
    seed: int = 0


@dataclass(frozen=True)
class Aimed:
    """What an aim reached and the bound proven for it: windows, level energy over time, watts, critical."""

    name: str
    value: float
    bound: float
    proven: bool

    @property
    def gap(self) -> float:
        """The distance between value and bound."""
        return max(0.0, self.value - self.bound)


@dataclass(frozen=True)
class Schedule:
    """An order on dates and how good it is proven; without a good one, ``ways_out`` in words.

    Where no schedule holds every limit, ``order`` is one that passes some, and says which and when.
    """

    order: Order
    windows: tuple[Window, ...]
    outcome: Outcome
    aims: tuple[Aimed, ...] = ()
    ways_out: tuple[str, ...] = ()
    worth: Worth | None = None
    seconds: float = 0.0


@dataclass
class Search:
    """One search: the model, the best batches so far, and what is left of the time."""

    model: Model
    options: Options
    cancel: threading.Event | None
    began: float = field(default_factory=time.monotonic)
    best: list[set[str]] | None = None
    held: dict[str, pulp.LpConstraint] = field(default_factory=dict)
    cuts: int = 0

    @property
    def left_s(self) -> float:
        """Seconds left."""
        return self.options.time_s - (time.monotonic() - self.began)

    def solve(self, objective: pulp.LpAffineExpression, seconds: float) -> Answer:
        """Minimise, shutting out waves that the true states refuse; a last answer may be refused too."""
        until = time.monotonic() + seconds
        while True:
            limits = Limits(
                time_s=until - time.monotonic(), relative_gap=1e-7, absolute_gap=1e-7, seed=self.options.seed
            )
            start = None if self.best is None else self.model.start(self.best)
            answer = run(
                self.model.program, objective, limits, extra=self.held, start=start, cancel=self.cancel
            )
            if not answer.found:
                return answer
            batches = self.model.batches(answer.values)
            bad = strained(self.model.work, batches)
            if not bad:
                self.best = batches
                return answer
            if self.cuts >= MOST_CUTS:
                return Answer(Ending.FAILED, {}, answer.objective, answer.bound, answer.seconds)
            self._shut_out(batches, [index for index, _ in bad])

    def _shut_out(self, batches: Sequence[set[str]], bad: Sequence[int]) -> None:
        self.cuts += 1
        for index in bad:
            done = {name for batch in batches[:index] for name in batch}
            for at in range(len(self.model.slots)):
                self.model.forbid(self.cuts, at, done, batches[index], bad=index)

    def hold(self, name: str, objective: pulp.LpAffineExpression, value: float) -> None:
        """Keep an aim where it is."""
        self.held[f"held: {name}"] = objective <= value + HOLD_SHARE * max(1.0, abs(value))


def schedule(
    site: Site, state: State, options: Options | None = None, *, cancel: threading.Event | None = None
) -> Schedule:
    """Put the work from a site today to a state into its maintenance windows.

    Raises ValueError when there is no first day or the time zone is not known, KeyError when the state does
    not carry a service of the site.
    """
    chosen = options or Options()
    work = work_of(Change(site, state))
    return scheduled(work, windows(site.windows, MOST_WINDOWS, chosen.start), chosen, cancel)


def scheduled(
    work: Work, when: Sequence[Window], options: Options, cancel: threading.Event | None = None
) -> Schedule:
    """Put work into windows: built one by one first, then made better and proven."""
    began = time.monotonic()
    slots = slots_of(when, work.change.site.windows.crew)
    if not work.blocks:
        return Schedule(told(work, []), (), Outcome.PROVEN)
    first = _built(work, slots)
    horizon = SEARCHED_WINDOWS if first is None else len(first) + SPARE_WINDOWS
    near = slots[: min(horizon, len(slots))]
    model = Model(work, near)
    add_limits(model)
    search = Search(model, options, cancel, began, first)
    aims = tuple(_aims(search))
    if search.best is None:
        return _without(work, when, slots, near, options, aims)
    order = _told(work, search.best, when)
    found = worth(work, near, search.best)
    return Schedule(
        order, tuple(when[: len(near)]), _outcome(aims), aims, (), found, time.monotonic() - began
    )


def _built(work: Work, slots: Sequence[Slot]) -> list[set[str]] | None:
    """Build a schedule window by window; None when that leaves something undone or passes a limit."""
    batches = built(work, slots, force=False)
    done = sum(len(batch) for batch in batches) == len(work.blocks)
    return batches if done and not strained(work, batches) else None


def _aims(search: Search) -> list[Aimed]:
    """Solve the aims in turn; stop where one finds nothing."""
    found: list[Aimed] = []
    aims = _objectives(search.model)
    for number, (name, make, read) in enumerate(aims):
        objective = make()
        share = 1.0 if number == len(aims) - 1 else FIRST_SHARE
        answer = search.solve(objective, max(0.0, search.left_s) * share)
        if search.best is None:
            return [Aimed(name, float("inf"), answer.bound, answer.ending is Ending.INFEASIBLE)]
        value = read(worth(search.model.work, search.model.slots, search.best))
        proven = answer.ending is Ending.PROVEN
        found.append(Aimed(name, value, min(value, answer.bound), proven))
        if number < len(aims) - 1:
            search.hold(name, objective, _worth_in(search, objective))
    return found


def _worth_in(search: Search, objective: pulp.LpAffineExpression) -> float:
    """Give what the best schedule is worth in an objective of the model."""
    values = search.model.start(search.best or [])
    return float(objective.constant + sum(c * values[v.name] for v, c in objective.items()))


Aim = tuple[str, Callable[[], pulp.LpAffineExpression], Callable[[Worth], float]]


def _objectives(model: Model) -> list[Aim]:
    return [
        ("windows", lambda: pulp.lpSum(model.used), lambda found: float(found.windows)),
        ("level over time", lambda: _over_time(model, "loudness"), lambda found: found.loudness),
        ("watts over time", lambda: _over_time(model, "mean_power"), lambda found: found.power_w),
        ("critical at once", lambda: _risk(model), lambda found: float(found.critical)),
    ]


def _over_time(model: Model, figure: str) -> pulp.LpAffineExpression:
    figures = Figures(model.work.change)
    poly = figures.loudness() if figure == "loudness" else figures.mean_power()
    spans = spans_h(model.slots)
    summed, constant = [], 0.0
    for index, span in enumerate(spans):
        terms, fixed = model.linear(poly, index)
        share = span / sum(spans)
        summed += [(variable, value * share) for variable, value in terms]
        constant += fixed * share
    return model.program.total(summed) + constant


def _risk(model: Model) -> pulp.LpAffineExpression:
    most = model.program.continuous("critical at once", None)
    for index in range(len(model.slots)):
        terms = [
            (variable, sign * critical(model.work, block.name))
            for block in model.work.blocks
            for variable, sign in model.new(block.name, index)
        ]
        model.at_most(f"critical@{index}", [*terms, (most, -1.0)], 0.0)
    return pulp.LpAffineExpression({most: 1.0})


def _outcome(aims: Sequence[Aimed]) -> Outcome:
    return Outcome.PROVEN if all(aim.proven for aim in aims) else Outcome.STOPPED_WITH_PLAN


def _without(
    work: Work,
    when: Sequence[Window],
    slots: Sequence[Slot],
    near: Sequence[Slot],
    options: Options,
    aims: tuple[Aimed, ...],
) -> Schedule:
    """Say what stands in the way, with an order that passes some limits and says which."""
    batches = built(work, slots, force=True)
    order = _told(work, batches, when)
    proven = bool(aims) and aims[0].proven
    outcome = Outcome.INFEASIBLE if proven else Outcome.STOPPED_EMPTY
    found = ways_out(work, near, options.seed, max(5.0, options.time_s / 2.0))
    return Schedule(order, tuple(when[: len(batches)]), outcome, aims, found)


def _told(work: Work, batches: Sequence[set[str]], when: Sequence[Window]) -> Order:
    return told(work, batches, [Dates(window.start, window.end) for window in when[: len(batches)]])
