"""The search for a schedule: quick ones first, made better a few windows at a time, then proven.

The aims are taken in turn. The first bounds come without the integer programme: from hours, order and what
fits together in a window. The programme over all windows is run where it is small enough to say more.

Why so: fewest windows are counted until all is done, an unused one too, and only among schedules that are
not louder over time than the plain order in the same calendar (a row of the model). Quiet first
(`Options.quiet_first`) lets the level decide, then the windows. So where the plain order keeps the limits,
it is never quieter.

Tried and left: counting used windows, which leaves Wednesdays idle to save one Saturday: on
``inventories/small-office.yaml`` 9 Saturdays do, packed so tightly that the noise goes late.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import pulp

from planner.moves.bounds.packing_duals import PackingDuals
from planner.moves.bounds.per_window import PerWindowBounds, compute_mean_bound
from planner.moves.bounds.time_indexed_lp import RelaxedSchedule, TimeIndexedLP, build_priced_figures
from planner.moves.bounds.time_windows import (
    TimeWindows,
    compute_even_spread,
    compute_least_windows,
    compute_time_windows,
    count_open,
)
from planner.moves.figures.evaluator import Figure
from planner.moves.figures.polynomials import Poly
from planner.moves.grid.evaluation import count_critical, evaluate
from planner.moves.grid.time_grid import Assignment, count_windows
from planner.moves.scheduling.exact import ExactProgramme
from planner.moves.scheduling.formulation import Model
from planner.moves.scheduling.large_neighbourhood import LargeNeighbourhoodSearch, SearchProblem, over_time
from planner.moves.scheduling.priority_search import PrioritySearch
from planner.solver import Answer, Ending, Limits

MOST_VARIABLES = 6000
"""With more undecided block-windows the whole programme is not written: it would not come to an end."""

KEY_BLOCKS = 12
"""For so many blocks that lower the noise most, prices are learned for all that comes before them."""

LEARN_SHARE = 0.03
"""The share of the time left in which prices are learned."""

WINDOWS_SHARE, WHOLE_SHARE, FLOORS_SHARE, LOUD_SHARE = 0.3, 0.4, 0.3, 0.7
"""Shares of the time left: for fewer windows, the whole programme, floors, and the level's proof."""

SHARES_SHARE, SHIFT_SHARE, STRETCH_SHARES = 0.9, 0.1, (0.3, 0.25)
"""Shares of the time left: for the bound by shares at most, and twice for lists, then stretches."""

MOST_SHARES = 60_000
"""With more undecided block-windows the bound by shares is left out."""

HOLD_SHARE = 1e-6
"""How much an aim may be given up, as a share, while the next one is made better."""

CLOSE = 1e-5
"""Value and bound this close, as a share, are the same."""


@dataclass(frozen=True)
class AimResult:
    """What an aim reached and the bound proven for it: windows, level energy over time, watts, critical."""

    name: str
    value: float
    bound: float
    proven: bool

    @property
    def gap(self) -> float:
        """The distance between value and bound."""
        return max(0.0, self.value - self.bound)


@dataclass
class LexicographicSearch:
    """A case, the best schedule so far, and what is left of the time.

    ``cap`` is the loudness over time that no schedule may pass: that of the plain order.
    """

    case: SearchProblem
    at: Assignment
    time_s: float
    cap: float = math.inf
    seed: int = 0
    cancel: threading.Event | None = None
    began: float = field(default_factory=time.monotonic)
    quiet_first: bool = False
    held: dict[str, tuple[Poly, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Lay out the prices."""
        self.prices = PackingDuals(self.case.grid)
        self.whole = ExactProgramme(self.case, self.prices, self.cancel)

    @property
    def left_s(self) -> float:
        """Seconds left; none once cancelled."""
        if self.cancel is not None and self.cancel.is_set():
            return 0.0
        return max(0.0, self.time_s - (time.monotonic() - self.began))

    def loudness(self, at: Assignment) -> float:
        """Give the mean loudness over time."""
        return self.case.loud.mean(at, self.case.grid.spans_h)

    def improve(self, others: Sequence[Assignment]) -> tuple[AimResult, ...]:
        """Take the aims in turn; ``others`` are schedules to start from beside the best one."""
        grid = self.case.grid
        least = compute_least_windows(self.prices, grid.count)
        self._learn()
        if self.quiet_first:
            level = self._figure("level over time", grid.count)
            self.held["level"] = self.case.loudness, self.loudness(self.at)
            self.cap = min(self.cap, _held(self.loudness(self.at)))
            until = time.monotonic() + self.left_s * WINDOWS_SHARE
            found = [level, self._proven_windows(least, until)]
        else:
            found = [self._windows(least, others), self._figure("level over time", count_windows(self.at))]
            self.held["level"] = self.case.loudness, self.loudness(self.at)
        windows = grid.count if self.quiet_first else count_windows(self.at)
        found.append(self._figure("watts over time", windows))
        self.held["watts"] = self.case.power, self.case.watts.mean(self.at, grid.spans_h)
        found.append(self._risk(windows))
        return tuple(found)

    def _learn(self) -> None:
        """Learn prices for what comes before the blocks that lower the noise most."""
        until = time.monotonic() + self.left_s * LEARN_SHARE
        grid, alone = self.case.grid, [(v, t) for t, v in self.case.loud.terms.items() if len(t) == 1]
        hours = self.prices.known[0].until
        for _, term in sorted(alone, key=lambda item: (item[0], sorted(item[1])))[:KEY_BLOCKS]:
            if time.monotonic() > until:
                break
            (name,) = term
            names = [*grid.work.needed[name], name]
            wanted = sum(grid.blocks[other].hours for other in names)
            last = int(hours.searchsorted(wanted))
            if last < grid.count and len(names) > 1:
                self.prices.solve_cover(names, last)

    def _windows(self, least: int, others: Sequence[Assignment]) -> AimResult:
        """Find the fewest windows until all is done with which the room is not louder than in plain order."""
        until = time.monotonic() + self.left_s * WINDOWS_SHARE
        fewer = [at for at in others if count_windows(at) < count_windows(self.at)]
        for number, start in enumerate(sorted(fewer, key=count_windows)):
            windows, now = count_windows(start), time.monotonic()
            share = now + (until - now) / (len(fewer) - number + 1)
            walk = LargeNeighbourhoodSearch(
                self.case, windows, start, share, self.seed, self.cancel, self.cap
            )
            found = walk.run(windows // 2)
            if self.loudness(found) <= self.cap:
                self.at = found
                break
        return self._proven_windows(least, until)

    def _proven_windows(self, least: int, until: float) -> AimResult:
        """Shut out numbers of windows from ``least`` on, as far as that can be proven."""
        while least < count_windows(self.at) and self._cannot(least, until):
            least += 1
        value = count_windows(self.at)
        return AimResult("windows", float(value), float(min(least, value)), least >= value)

    def _cannot(self, windows: int, until: float) -> bool:
        """Say whether so few windows are proven not to do; a schedule found meanwhile is kept."""
        within = compute_time_windows(self.prices, windows)
        if within.is_empty:
            return True
        floors = PerWindowBounds(self.prices, within, self.case.loud, self.seed).all(until)
        if compute_mean_bound(floors, self.case.grid.spans_h) > self.cap * (1.0 + CLOSE):
            return True
        model = self._model(within)
        if model is None:
            return False
        rows = {"not louder": over_time(model, self.case.loudness) <= self.cap} if self.cap < math.inf else {}
        objective = over_time(model, self.case.loudness)
        answer = self.solve(model, objective, until - time.monotonic(), rows, start=None)
        return answer.ending is Ending.INFEASIBLE

    def _figure(self, name: str, windows: int) -> AimResult:
        """Make a figure small within so many windows: by shares and lists, stretches, the whole programme."""
        is_level = name == "level over time"
        poly, figure = (
            (self.case.loudness, self.case.loud) if is_level else (self.case.power, self.case.watts)
        )
        within = compute_time_windows(self.prices, windows)
        is_small = count_open(within) <= MOST_VARIABLES
        shares = self._shares(within, poly, figure)
        for number, rank in enumerate((shares.done_after, {})):
            self._shift(figure, windows, rank)
            self._stretch(windows, is_level, STRETCH_SHARES[number] if is_level or is_small else 1.0)
        floors = self._floors(within, figure)
        bound = max(shares.bound, compute_mean_bound(floors, self.case.grid.spans_h))
        model = self._model(within, floors, poly)
        if model is not None and self.left_s > 0.0:
            objective = over_time(model, poly)
            share = LOUD_SHARE if is_level else WHOLE_SHARE
            rows = {
                name: over_time(model, other) <= _held(value) for name, (other, value) in self.held.items()
            }
            bound = max(bound, self.solve(model, objective, self.left_s * share, rows, self.at).bound)
        return self._aimed(name, figure, bound)

    def _stretch(self, windows: int, is_level: bool, share: float) -> None:
        """Put a few windows anew at a time, for the level or for watts at the level that is held."""
        until = time.monotonic() + self.left_s * share
        hold = math.inf if is_level else _held(self.held["level"][1])
        stretches = LargeNeighbourhoodSearch(
            self.case, windows, self.at, until, self.seed, self.cancel, hold=hold
        )
        self.at = stretches.run(windows // 2)

    def _shares(self, within: TimeWindows, poly: Poly, figure: Figure) -> RelaxedSchedule:
        """Bound a figure with blocks done in shares, where that is not too large; a held level is priced."""
        if count_open(within) > MOST_SHARES:
            return RelaxedSchedule(-math.inf, {})
        best, floor = figure, -math.inf
        for held, most in self.held.values():
            value = figure.mean(self.at, self.case.grid.spans_h)
            for other in build_priced_figures(self.case.grid.work, poly, held, _held(most), value):
                if self.left_s <= 0.0:
                    break
                floors = PerWindowBounds(self.prices, within, other, self.seed).all(time.monotonic())
                mean = compute_mean_bound(floors, self.case.grid.spans_h)
                best, floor = (other, mean) if mean > floor else (best, floor)
        if self.left_s <= 0.0:
            return RelaxedSchedule(floor, {})
        found = TimeIndexedLP(self.prices, within, best).solve(self.left_s * SHARES_SHARE, self.cancel)
        return replace(found, bound=max(floor, found.bound))

    def _shift(self, figure: Figure, windows: int, rank: Mapping[str, float]) -> None:
        """Move blocks in the list that the schedule stands for; what is held stays held."""
        spans_h = self.case.grid.spans_h
        most = _held(self.held["level"][1]) if "level" in self.held else math.inf

        def price(at: Assignment) -> tuple[float, float]:
            return max(0.0, self.loudness(at) - most), figure.mean(at, spans_h)

        until = time.monotonic() + self.left_s * SHIFT_SHARE
        grid, meter = self.case.grid, self.case.meter
        shifts = PrioritySearch(grid, meter, figure, windows, self.at, price, until, self.seed, self.cancel)
        self.at = shifts.run(rank)

    def _floors(self, within: TimeWindows, figure: Figure) -> list[float]:
        if self.cancel is not None and self.cancel.is_set():
            return [0.0] * self.case.grid.count
        until = time.monotonic() + self.left_s * FLOORS_SHARE
        return PerWindowBounds(self.prices, within, figure, self.seed).all(until)

    def _aimed(self, name: str, figure: Figure, bound: float) -> AimResult:
        """Give what an aim reached, as read from the true states; the figure may leave out a little."""
        grid = self.case.grid
        known = evaluate(grid.work, grid.slots, grid.batches(self.at))
        value = known.loudness if figure is self.case.loud else known.power_w
        return AimResult(name, value, max(0.0, min(value, bound)), value - bound <= CLOSE * abs(value))

    def _model(
        self, within: TimeWindows, floors: Sequence[float] = (), poly: Poly | None = None
    ) -> Model | None:
        """Write the whole programme; None where it is too large to be of use, or there is no time."""
        if count_open(within) > MOST_VARIABLES or self.left_s <= 0.0:
            return None
        return self.whole.model(within, floors, poly)

    def solve(
        self,
        model: Model,
        objective: pulp.LpAffineExpression,
        seconds: float,
        rows: dict[str, pulp.LpConstraint],
        start: Assignment | None,
        gap: float = CLOSE / 10.0,
    ) -> Answer:
        """Minimise, and keep the schedule that is found."""
        answer, at = self.whole.solve(model, objective, Limits(seconds, gap, 1e-7, self.seed), rows, start)
        self.at = self.at if at is None else at
        return answer

    def _risk(self, windows: int) -> AimResult:
        """Make the most critical services that one window moves few."""
        grid = self.case.grid
        risky = {name: count_critical(grid.work, name) for name in grid.names}
        within = compute_time_windows(self.prices, windows)
        bound = float(compute_even_spread(within, risky))
        value = float(evaluate(grid.work, grid.slots, grid.batches(self.at)).critical)
        model = self._model(within) if value > bound else None
        if model is not None:
            most = model.program.continuous("critical at once", None)
            for index in model.windows:
                terms = [(v, c * risk) for n, risk in risky.items() if risk for v, c in model.new(n, index)]
                model.at_most(f"critical@{index}", [*terms, (most, -1.0)], 0.0)
            rows = {
                name: over_time(model, other) <= _held(value) for name, (other, value) in self.held.items()
            }
            objective = pulp.LpAffineExpression({most: 1.0})
            answer = self.solve(model, objective, self.left_s, rows, self.at)
            bound = max(bound, math.ceil(answer.bound - 1e-6)) if math.isfinite(answer.bound) else bound
            value = float(evaluate(grid.work, grid.slots, grid.batches(self.at)).critical)
        return AimResult("critical at once", value, min(value, bound), bound >= value)


def _held(value: float) -> float:
    return value + HOLD_SHARE * max(1.0, abs(value))
