"""Makes a schedule better a few windows at a time: what is done in them is put anew by an integer programme.

All else stays where it is. Windows are taken from the first to the last, overlapping, and more at a time
once nothing is gained (a neighbourhood search over time, as in large neighbourhood search, Shaw 1998).
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, field

import pulp

from planner.moves.grid.time_grid import Assignment
from planner.moves.scheduling.formulation import Model
from planner.moves.scheduling.limit_rows import add_limits
from planner.moves.scheduling.problem import Aim, SearchProblem
from planner.solver import Limits, run

Price = tuple[float, float]


@dataclass
class LargeNeighbourhoodSearch:
    """A schedule under change within its first ``windows`` windows.

    ``enough`` is the level from which on no less is asked for. With ``held`` watts are made small, with the
    level held at that.
    """

    problem: SearchProblem
    windows: int
    at: Assignment
    until: float
    enough: float = -math.inf
    held: float = math.inf
    stale: set[tuple[int, int, frozenset[tuple[str, int]]]] = field(default_factory=set)

    def run(self) -> Assignment:
        """Search neighbourhoods of up to half the windows until none gains or the time is over."""
        params, most = self.problem.params, self.windows // 2
        size = min(params.first_size, most)
        while size <= most and not self._is_over():
            before = self._price(self.at)
            for first in range(0, max(1, self.windows - size // 2), max(1, size // 2)):
                self._search(first, min(first + size, self.windows) - 1)
            if not self._is_less(self._price(self.at), before):
                size += params.more_windows
        return self.at

    def _price(self, at: Assignment) -> Price:
        """Compute the level, or how far it is over what is held, and the watts of a schedule."""
        level = self.problem.mean(self.problem.level, at)
        level = level if math.isinf(self.held) else max(0.0, level - self.held)
        return level, self.problem.mean(self.problem.watts, at)

    def _is_over(self) -> bool:
        is_enough = self.enough > -math.inf and self._price(self.at)[0] <= self.enough
        return is_enough or time.monotonic() > self.until or self.problem.is_cancelled

    def _is_less(self, one: Price, other: Price) -> bool:
        slack, more = (self.problem.params.least_gain * max(1.0, abs(value)) for value in other)
        return one[0] < other[0] - slack or (one[0] <= other[0] + slack / 2.0 and one[1] < other[1] - more)

    def _search(self, first: int, last: int) -> None:
        """Put the blocks of some windows anew, within these; what gained nothing is not tried again."""
        free = frozenset((name, index) for name, index in self.at.items() if first <= index <= last)
        key = first, last, free
        if key in self.stale or len(free) < 2 or self._is_over():
            return
        found = self._solve(first, last, frozenset(name for name, _ in free))
        is_less = found is not None and self._is_less(self._price(found), self._price(self.at))
        if found is not None and is_less and self.problem.keeps_limits(found):
            self.at = found
        else:
            self.stale.add(key)

    def _solve(self, first: int, last: int, free: frozenset[str]) -> Assignment | None:
        """Solve the programme of a neighbourhood."""
        model, problem = self._build_model(first, last, free), self.problem
        if not model.free:
            return None
        add_limits(model, known=problem.limits)
        level, watts = self._build_mean(model, problem.level), self._build_mean(model, problem.watts)
        if math.isfinite(self.held):
            objective, rows = watts, {"held": level <= self.held}
        else:
            one, other = (max(value, problem.params.least_gain) for value in self._price(self.at))
            objective, rows = level + problem.params.tie * one / other * watts, {}
        left_s = min(problem.params.neighbourhood_s, self.until - time.monotonic())
        nodes = problem.params.neighbourhood_nodes
        limits = Limits(left_s, relative_gap=1e-6, absolute_gap=1e-9, seed=problem.seed, nodes=nodes)
        start = model.start(self.at)
        answer = run(model.program, objective, limits, extra=rows, start=start, cancel=problem.cancel)
        return model.read(answer.values) if answer.found else None

    def _build_mean(self, model: Model, aim: Aim) -> pulp.LpAffineExpression:
        """Build the mean of an aim over time; outside the model's windows the states are what they are."""
        spans, done = self.problem.grid.spans_h, set[str]()
        outside = self.problem.mean(aim, self.at)
        for index, batch in enumerate(self.problem.grid.batches(self.at)):
            done |= batch
            if index in model.windows:
                outside -= aim.figure.after(done) * spans[index] / sum(spans)
        return model.build_mean(aim.poly) + outside

    def _build_model(self, first: int, last: int, free: frozenset[str]) -> Model:
        """Build the model in which only some blocks move, from window ``first`` to ``last``."""
        grid = self.problem.grid
        earliest, latest = dict(self.at), dict(self.at)
        for name in grid.names:
            if name in free:
                earliest[name] = max(first, min(grid.earliest(name, earliest), self.at[name]))
        for name in reversed(grid.names):
            if name in free:
                ends = [grid.latest_before[lag][latest[other]] for other, lag in grid.after[name]]
                latest[name] = max(self.at[name], min(last, *ends) if ends else last)
        return Model(grid, earliest, latest)
