"""The least that a figure can be after each window: the best set of blocks that the windows can hold.

Each window is asked for by itself: what comes before is in the set with what needs it, and no price of the
set passes what the windows until then hold. So the mean over time of these floors is under that of every
schedule.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import pulp

from planner.moves.bounds.packing_duals import ROUNDING, PackingDuals
from planner.moves.bounds.time_windows import TimeWindows
from planner.moves.figures.evaluator import Blocks, Figure
from planner.solver import Answer, Ending, Limits, Program, relax, run


@dataclass
class PerWindowBounds:
    """The least of one figure after each window, for schedules within their time windows."""

    prices: PackingDuals
    within: TimeWindows
    figure: Figure
    seed: int = 0
    program: Program = field(default_factory=Program)

    def __post_init__(self) -> None:
        """Write the programme of one window, but for what its number decides."""
        grid = self.prices.grid
        self.done = {name: self.program.binary(name) for name in grid.names}
        for before, after in grid.work.lags:
            self.program.row(f"{before} before {after}", self.done[after] - self.done[before] <= 0)
        parts = [(self._factor(term), value) for term, value in self.figure.terms.items() if term]
        self.objective = self.program.total(parts) + self.figure.terms.get(frozenset(), 0.0)
        self._sums = [
            self.program.total(
                (self.done[n], float(v)) for n, v in zip(grid.names, price.values, strict=True) if v
            )
            for price in self.prices.known
        ]

    def _factor(self, term: Blocks) -> pulp.LpVariable:
        """Build the variable of a product: 1 when all of it is done; HiGHS gets both sides of it."""
        names = sorted(term)
        if len(names) == 1:
            return self.done[names[0]]
        both = self.program.continuous(" and ".join(names))
        for name in names:
            self.program.row(f"{both.name} under {name}", both - self.done[name] <= 0)
        self.program.row(
            f"{both.name} over", pulp.lpSum(self.done[n] for n in names) - both <= len(names) - 1
        )
        return both

    def solve_after(self, index: int, seconds: float) -> float:
        """Solve for the floor after a window; inf where no state can be then."""
        extra: dict[str, pulp.LpConstraint] = {}
        last = self.within.windows - 1
        for number, (price, total) in enumerate(zip(self.prices.known, self._sums, strict=True)):
            room = price.between(0, index) + ROUNDING
            left = price.between(index + 1, last) if index < last else 0.0
            extra[f"room {number}"] = total <= room
            extra[f"left {number}"] = total >= float(price.values.sum()) - left - ROUNDING
        for name, variable in self.done.items():
            variable.lowBound = float(self.within.latest[name] <= index)
            variable.upBound = float(self.within.earliest[name] <= index)
        return self._least(extra, seconds)

    def _least(self, extra: Mapping[str, pulp.LpConstraint], seconds: float) -> float:
        params = self.prices.params
        limits = Limits(time_s=seconds, relative_gap=params.window_gap, seed=self.seed)
        answer: Answer | None = None
        if len(self.done) <= params.window_blocks and seconds > params.window_least_s:
            answer = run(self.program, self.objective, limits, extra=extra)
        if answer is None or not math.isfinite(answer.bound):
            if answer is not None and answer.ending is Ending.INFEASIBLE:
                return math.inf
            answer = relax(self.program, self.objective, Limits(time_s=params.window_relaxed_s), extra=extra)
        return answer.bound

    def solve_all(self, until: float = math.inf) -> list[float]:
        """Solve for the floors after every window of the grid; the last one is that of all that is done.

        After ``until`` of the monotonic clock they are those of fractions, which come at once.
        """
        found, params = list[float](), self.prices.params
        end = self.figure.after(frozenset(self.done))
        last = self.within.windows - 1
        for index in range(self.prices.grid.count):
            left_s = (until - time.monotonic()) / max(1, last - index)
            seconds = min(left_s * params.window_spend, params.window_s)
            found.append(end if index >= last else self.solve_after(index, seconds))
        return found


def compute_mean_bound(floors: Sequence[float], spans_h: Sequence[float]) -> float:
    """Compute the mean of floors over time."""
    return sum(floor * span for floor, span in zip(floors, spans_h, strict=True)) / sum(spans_h)
