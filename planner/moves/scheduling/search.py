"""The search for a schedule: lexicographic, each aim made better and bounded while those before are held.

Local search over lists and large neighbourhoods make a figure small; packing duals, bounds of single windows
and the time-indexed relaxation bound it; the exact programme is run where it is small enough to say more.

Why so: fewest windows are counted until all is done, an unused one too, and only among schedules that are
not louder over time than the plain order in the same calendar (a row of the model). Quiet first
(`Options.quiet_first`) lets the level decide, then the windows. So where the plain order keeps the limits,
it is never quieter.

Tried and left: counting used windows, which leaves Wednesdays idle to save one Saturday: on
``inventories/small-office.yaml`` 9 Saturdays do, packed so tightly that the noise goes late.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import pulp

from planner.moves.bounds.packing_duals import PackingDuals
from planner.moves.bounds.per_window import PerWindowBounds, compute_mean_bound
from planner.moves.bounds.proof import Bound, Proof
from planner.moves.bounds.time_indexed_lp import RelaxedSchedule, TimeIndexedLP, build_priced_figures
from planner.moves.bounds.time_windows import (
    TimeWindows,
    compute_even_spread,
    compute_least_windows,
    compute_time_windows,
    count_open,
)
from planner.moves.figures.evaluator import Figure
from planner.moves.grid.evaluation import Evaluation, count_critical, evaluate
from planner.moves.grid.time_grid import Assignment, count_windows
from planner.moves.scheduling.aim_result import AimResult
from planner.moves.scheduling.exact import ExactProgramme
from planner.moves.scheduling.formulation import Model
from planner.moves.scheduling.large_neighbourhood import LargeNeighbourhoodSearch
from planner.moves.scheduling.priority_search import PrioritySearch
from planner.moves.scheduling.problem import Aim, SearchProblem
from planner.solver import Answer, Ending, Limits


@dataclass
class LexicographicSearch:
    """A problem, the best schedule so far, ``at``, and what is left of the time.

    ``cap`` is the level over time that no schedule may pass: that of the plain order. ``held`` are the aims
    that are reached, each with what it may be while the next ones are made better.
    """

    problem: SearchProblem
    at: Assignment
    time_s: float
    cap: float = math.inf
    began: float = field(default_factory=time.monotonic)
    quiet_first: bool = False
    held: list[tuple[Aim, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Begin with the prices of hours."""
        self.params = self.problem.params
        self.prices = PackingDuals(self.problem.grid, self.params)
        self.exact = ExactProgramme(self.problem, self.prices)

    @property
    def left_s(self) -> float:
        """Seconds left; none once cancelled."""
        return 0.0 if self.problem.is_cancelled else max(0.0, self.time_s - (time.monotonic() - self.began))

    def _until(self, share: float) -> float:
        return time.monotonic() + self.left_s * share

    def improve(self, others: Sequence[Assignment]) -> tuple[AimResult, ...]:
        """Take the aims in turn; ``others`` are schedules to start from beside the best one."""
        problem, every = self.problem, self.problem.grid.count
        least = compute_least_windows(self.prices, every)
        self._learn_prices()
        if self.quiet_first:
            found = [self._improve_figure(problem.level, every)]
            self.cap = min(self.cap, self._hold(problem.level))
            found.append(self._bound_windows(least, self._until(self.params.windows_share)))
        else:
            found = [self._improve_windows(least, others)]
            found.append(self._improve_figure(problem.level, count_windows(self.at)))
            self._hold(problem.level)
            every = count_windows(self.at)
        found.append(self._improve_figure(problem.watts, every))
        self._hold(problem.watts)
        return (*found, self._improve_critical(every))

    def _hold(self, aim: Aim) -> float:
        """Hold an aim at what it reached, but for a little."""
        value = self.problem.mean(aim, self.at)
        self.held.append((aim, value + self.params.hold * max(1.0, abs(value))))
        return self.held[-1][1]

    @property
    def _held_level(self) -> float:
        return next((most for aim, most in self.held if aim is self.problem.level), math.inf)

    def _learn_prices(self) -> None:
        """Learn prices for what comes before the blocks that lower the noise most."""
        until, grid = self._until(self.params.learn_share), self.problem.grid
        alone = [(v, t) for t, v in self.problem.level.figure.terms.items() if len(t) == 1]
        hours = self.prices.known[0].until
        for _, term in sorted(alone, key=lambda item: (item[0], sorted(item[1])))[: self.params.learn_blocks]:
            if time.monotonic() > until:
                break
            (name,) = term
            names = [*grid.work.needed[name], name]
            last = int(hours.searchsorted(sum(grid.blocks[other].hours for other in names)))
            if last < grid.count and len(names) > 1:
                self.prices.solve_cover(names, last)

    def _improve_windows(self, least: int, others: Sequence[Assignment]) -> AimResult:
        """Search the fewest windows until all is done with which it is not louder than in plain order."""
        until, level = self._until(self.params.windows_share), self.problem.level
        fewer = [at for at in others if count_windows(at) < count_windows(self.at)]
        for number, start in enumerate(sorted(fewer, key=count_windows)):
            now = time.monotonic()
            share = now + (until - now) / (len(fewer) - number + 1)
            windows = count_windows(start)
            found = LargeNeighbourhoodSearch(self.problem, windows, start, share, enough=self.cap).run()
            if self.problem.mean(level, found) <= self.cap:
                self.at = found
                break
        return self._bound_windows(least, until)

    def _bound_windows(self, least: int, until: float) -> AimResult:
        """Shut out numbers of windows from ``least`` on, as far as that can be proven."""
        proof = Proof.PACKING_DUALS
        while least < count_windows(self.at):
            found = self._shut_out(least, until)
            if found is Proof.NONE:
                break
            least, proof = least + 1, found
        value = count_windows(self.at)
        return AimResult("windows", float(value), float(min(least, value)), least >= value, proof)

    def _shut_out(self, windows: int, until: float) -> Proof:
        """Prove that so few windows do not do, and say how; a schedule found meanwhile is kept."""
        within, level = compute_time_windows(self.prices, windows), self.problem.level
        if within.is_empty:
            return Proof.PACKING_DUALS
        if self._bound_each(within, level.figure, until) > self.cap * (1.0 + self.params.close):
            return Proof.PER_WINDOW
        model = self._build_exact(within)
        if model is None:
            return Proof.NONE
        objective = model.build_mean(level.poly)
        rows = {"not louder": objective <= self.cap} if self.cap < math.inf else {}
        answer = self.solve(model, objective, until - time.monotonic(), rows, start=None)
        return Proof.EXACT if answer.ending is Ending.INFEASIBLE else Proof.NONE

    def _bound_each(self, within: TimeWindows, figure: Figure, until: float) -> float:
        """Bound the mean of a figure by the least that it can be after each window."""
        floors = PerWindowBounds(self.prices, within, figure, self.problem.seed).solve_all(until)
        return compute_mean_bound(floors, self.problem.grid.spans_h)

    def _improve_figure(self, aim: Aim, windows: int) -> AimResult:
        """Make a figure small within so many windows: relaxation, lists, neighbourhoods, exact programme."""
        within, is_level = compute_time_windows(self.prices, windows), aim is self.problem.level
        is_small = count_open(within) <= self.params.most_variables
        relaxed, bounds = self._relax(within, aim)
        for rank, share in zip((relaxed.done_after, {}), self.params.neighbourhood_shares, strict=True):
            self._search_lists(aim, windows, rank)
            until = self._until(share if is_level or is_small else 1.0)
            search = LargeNeighbourhoodSearch(self.problem, windows, self.at, until, held=self._held_level)
            self.at = search.run()
        floors = self._solve_floors(within, aim.figure)
        bounds.append((compute_mean_bound(floors, self.problem.grid.spans_h), Proof.PER_WINDOW))
        model = self._build_exact(within, floors, aim)
        if model is not None and self.left_s > 0.0:
            seconds = self.left_s * (self.params.loud_share if is_level else self.params.whole_share)
            answer = self.solve(model, model.build_mean(aim.poly), seconds, self._held_rows(model), self.at)
            bounds.append((answer.bound, Proof.EXACT))
        known = self._evaluate()
        value = known.loudness if is_level else known.power_w
        bound, proof = max(bounds, key=lambda item: item[0])
        is_proven = value - bound <= self.params.close * abs(value)
        return AimResult(aim.name, value, max(0.0, min(value, bound)), is_proven, proof)

    def _evaluate(self) -> Evaluation:
        """Compute what the schedule is worth from the true states; the figures may leave out a little."""
        grid = self.problem.grid
        return evaluate(grid.work, grid.slots, grid.batches(self.at))

    def _search_lists(self, aim: Aim, windows: int, rank: Mapping[str, float]) -> None:
        """Move blocks in the list that the schedule stands for; what is held stays held."""
        seconds = self.time_s * self.params.lists_share
        lists = self.params.lists_in(seconds, len(self.problem.grid.names))
        until = time.monotonic() + min(self.left_s, seconds * self.params.slack)
        search = PrioritySearch(self.problem, aim, windows, self.at, lists, until, self._held_level)
        self.at = search.run(rank)

    def _relax(self, within: TimeWindows, aim: Aim) -> tuple[RelaxedSchedule, list[Bound]]:
        """Solve the time-indexed relaxation, where that is not too large; a held level is priced."""
        bounds: list[Bound] = [(-math.inf, Proof.NONE)]
        if count_open(within) > self.params.most_relaxed:
            return RelaxedSchedule(-math.inf, {}), bounds
        best, value = aim.figure, self.problem.mean(aim, self.at)
        for held, most in self.held:
            shares = self.params.held_prices
            for figure in build_priced_figures(
                self.problem.grid.work, aim.poly, held.poly, most, value, shares
            ):
                if self.left_s <= 0.0:
                    break
                bound = self._bound_each(within, figure, time.monotonic())
                if bound > bounds[-1][0]:
                    best = figure
                    bounds.append((bound, Proof.PER_WINDOW))
        if self.left_s <= 0.0:
            return RelaxedSchedule(-math.inf, {}), bounds
        seconds = self.left_s * self.params.relaxation_share
        found = TimeIndexedLP(self.prices, within, best).solve(seconds, self.problem.cancel)
        return found, [*bounds, (found.bound, Proof.TIME_INDEXED)]

    def _solve_floors(self, within: TimeWindows, figure: Figure) -> list[float]:
        if self.problem.is_cancelled:
            return [0.0] * self.problem.grid.count
        until = self._until(self.params.bounds_share)
        return PerWindowBounds(self.prices, within, figure, self.problem.seed).solve_all(until)

    def _build_exact(
        self, within: TimeWindows, floors: Sequence[float] = (), aim: Aim | None = None
    ) -> Model | None:
        """Build the exact programme; None where it is too large to be of use, or there is no time."""
        if count_open(within) > self.params.most_variables or self.left_s <= 0.0:
            return None
        return self.exact.build(within, floors, None if aim is None else aim.poly)

    def _held_rows(self, model: Model) -> dict[str, pulp.LpConstraint]:
        return {aim.name: model.build_mean(aim.poly) <= most for aim, most in self.held}

    def solve(
        self,
        model: Model,
        objective: pulp.LpAffineExpression,
        seconds: float,
        rows: dict[str, pulp.LpConstraint],
        start: Assignment | None,
        gap: float | None = None,
    ) -> Answer:
        """Solve the exact programme, and keep the schedule that is found."""
        gap = self.params.close / 10.0 if gap is None else gap
        limits = Limits(seconds, gap, 1e-7, self.problem.seed)
        answer, at = self.exact.solve(model, objective, limits, rows, start)
        self.at = self.at if at is None else at
        return answer

    def _improve_critical(self, windows: int) -> AimResult:
        """Make the most critical services that one window moves few."""
        risky = {name: count_critical(self.problem.grid.work, name) for name in self.problem.grid.names}
        within = compute_time_windows(self.prices, windows)
        bound, proof = float(compute_even_spread(within, risky)), Proof.EVEN_SPREAD
        value = self._evaluate().critical
        model = self._build_exact(within) if value > bound else None
        if model is not None:
            most = model.program.continuous("critical at once", None)
            for index in model.windows:
                terms = [(v, c * risk) for n, risk in risky.items() if risk for v, c in model.new(n, index)]
                model.at_most(f"critical@{index}", [*terms, (most, -1.0)], 0.0)
            objective = pulp.LpAffineExpression({most: 1.0})
            answer = self.solve(model, objective, self.left_s, self._held_rows(model), self.at)
            if math.isfinite(answer.bound) and math.ceil(answer.bound - 1e-6) > bound:
                bound, proof = math.ceil(answer.bound - 1e-6), Proof.EXACT
            value = self._evaluate().critical
        return AimResult("critical at once", float(value), min(value, bound), bound >= value, proof)
