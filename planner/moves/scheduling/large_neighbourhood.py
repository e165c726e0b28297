"""Makes a schedule better a few windows at a time: what is done in them is put anew by an integer programme.

All else stays where it is. Windows are taken from the first to the last, overlapping, and more at a time
once nothing is gained (a neighbourhood search over time, as in large neighbourhood search, Shaw 1998).
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field

import pulp

from planner.moves.figures.evaluator import Figure, LimitEvaluator
from planner.moves.figures.machine_presence import When
from planner.moves.figures.polynomials import Poly
from planner.moves.figures.room_figures import Figures
from planner.moves.figures.window_limits import Limit, all_limits
from planner.moves.grid.time_grid import Assignment, TimeGrid
from planner.moves.scheduling.formulation import Model
from planner.moves.scheduling.limit_rows import add_limits
from planner.solver import Limits, run

FIRST_SIZE = 4
MORE = 2
STRETCH_S = 3.0
"""Seconds for one stretch."""

LEAST_GAIN = 1e-9
TIE = 1e-4
"""How much the next aim counts beside the first, as a share of it, to decide between equals."""


@dataclass(frozen=True)
class SearchProblem:
    """A grid with what a search asks of it: the limits, a meter for them, and the figures to make small."""

    grid: TimeGrid
    limits: Sequence[tuple[When, Limit]]
    meter: LimitEvaluator
    loudness: Poly
    power: Poly
    loud: Figure
    watts: Figure


def build_problem(grid: TimeGrid) -> SearchProblem:
    """Lay out a frame's limits and figures."""
    work = grid.work
    figures = Figures(work.change)
    loudness, power = figures.loudness(), figures.mean_power()
    loud, watts = Figure(work, loudness), Figure(work, power)
    return SearchProblem(grid, all_limits(work), LimitEvaluator(work), loudness, power, loud, watts)


def over_time(model: Model, poly: Poly) -> pulp.LpAffineExpression:
    """Give the mean over time of a figure of the states between the windows."""
    spans = model.grid.spans_h
    total_h = sum(spans)
    summed, constant = [], 0.0
    for index, span in enumerate(spans):
        terms, fixed = model.linear(poly, index)
        summed += [(variable, value * span / total_h) for variable, value in terms]
        constant += fixed * span / total_h
    return model.program.total(summed) + constant


@dataclass
class LargeNeighbourhoodSearch:
    """A schedule under change within its first ``windows`` windows, by the limits of the meter.

    ``enough`` is the loudness from which on no less is asked for. With ``hold`` watts are made small, with
    the loudness held at that.
    """

    case: SearchProblem
    windows: int
    at: Assignment
    until: float
    seed: int = 0
    cancel: threading.Event | None = None
    enough: float = -math.inf
    hold: float = math.inf
    stale: set[tuple[int, int, frozenset[tuple[str, int]]]] = field(default_factory=set)

    def price(self, at: Assignment) -> tuple[float, float]:
        """Give the mean loudness, or how far it is over what is held, and the mean watts of a schedule."""
        spans = self.case.grid.spans_h
        loud = self.case.loud.mean(at, spans)
        return loud if math.isinf(self.hold) else max(0.0, loud - self.hold), self.case.watts.mean(at, spans)

    def run(self, most: int) -> Assignment:
        """Take stretches of up to ``most`` windows until none gains or the time is over."""
        size = min(FIRST_SIZE, most)
        while size <= most and not self._is_over():
            before = self.price(self.at)
            for first in range(0, max(1, self.windows - size // 2), max(1, size // 2)):
                self._one(first, min(first + size, self.windows) - 1)
            if not self._is_less(self.price(self.at), before):
                size += MORE
        return self.at

    def _is_over(self) -> bool:
        is_enough = self.enough > -math.inf and self.price(self.at)[0] <= self.enough
        return (
            is_enough or time.monotonic() > self.until or (self.cancel is not None and self.cancel.is_set())
        )

    def _is_less(self, one: tuple[float, float], other: tuple[float, float]) -> bool:
        slack = LEAST_GAIN * max(1.0, abs(other[0]))
        return one[0] < other[0] - slack or (
            one[0] <= other[0] + slack / 2.0 and one[1] < other[1] - LEAST_GAIN * max(1.0, abs(other[1]))
        )

    def _one(self, first: int, last: int) -> None:
        """Put the blocks of some windows anew, within these."""
        free = frozenset((name, index) for name, index in self.at.items() if first <= index <= last)
        key = first, last, free
        if key in self.stale or len(free) < 2 or self._is_over():
            return
        found = self._solved(first, last, frozenset(name for name, _ in free))
        if found is not None and self._is_less(self.price(found), self.price(self.at)) and self._holds(found):
            self.at = found
        else:
            self.stale.add(key)

    def _holds(self, at: Assignment) -> bool:
        return all(self.case.meter.holds(done, batch) for done, batch in self.case.grid.waves(at))

    def _solved(self, first: int, last: int, free: frozenset[str]) -> Assignment | None:
        model = self._model(first, last, free)
        if not model.free:
            return None
        add_limits(model, known=self.case.limits)
        loud = self._mean(model, self.case.loudness, self.case.loud)
        watts = self._mean(model, self.case.power, self.case.watts)
        price = self.price(self.at)
        tie = TIE * max(price[0], LEAST_GAIN) / max(price[1], LEAST_GAIN)
        is_held = math.isfinite(self.hold)
        objective, rows = (watts, {"held": loud <= self.hold}) if is_held else (loud + tie * watts, {})
        left_s = min(STRETCH_S, self.until - time.monotonic())
        limits = Limits(time_s=left_s, relative_gap=1e-6, absolute_gap=1e-9, seed=self.seed)
        start = model.start(self.at)
        answer = run(model.program, objective, limits, extra=rows, start=start, cancel=self.cancel)
        return model.read(answer.values) if answer.found else None

    def _mean(self, model: Model, poly: Poly, figure: Figure) -> pulp.LpAffineExpression:
        """Give the mean over time of a figure; outside the model's windows the states are what they are."""
        spans, done = self.case.grid.spans_h, set[str]()
        total_h = sum(spans)
        summed, constant = [], figure.mean(self.at, spans)
        for index, batch in enumerate(self.case.grid.batches(self.at)):
            done |= batch
            if index not in model.windows:
                continue
            terms, fixed = model.linear(poly, index)
            share = spans[index] / total_h
            summed += [(variable, value * share) for variable, value in terms]
            constant += (fixed - figure.after(done)) * share
        return model.program.total(summed) + constant

    def _model(self, first: int, last: int, free: frozenset[str]) -> Model:
        """Write the model in which only some blocks move, from ``first`` to ``last``."""
        grid = self.case.grid
        earliest, latest = dict(self.at), dict(self.at)
        for name in grid.names:
            if name in free:
                earliest[name] = max(first, min(grid.earliest(name, earliest), self.at[name]))
        for name in reversed(grid.names):
            if name in free:
                ends = [grid.latest_before[lag][latest[other]] for other, lag in grid.after[name]]
                latest[name] = max(self.at[name], min(last, *ends) if ends else last)
        return Model(grid, earliest, latest)
