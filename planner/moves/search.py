"""One search for a schedule: solve, judge the answer by the true states, shut out what they refuse."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import pulp

from planner.milp import Answer, Ending, Limits, run
from planner.moves.course import Worth, critical, spans_h, strained, worth
from planner.moves.model import Model, least_windows
from planner.moves.polish import polished
from planner.moves.poly import Poly
from planner.moves.sums import Figures

MOST_CUTS = 25
FIRST_SHARE = 0.6
"""The share of the time left that an aim may take, so that the ones after it have some."""

POLISH_SHARE = 0.3
"""The share of the time left that a quieter schedule in the fewest windows may be built in."""

HOLD_SHARE = 1e-6
"""How much an aim may be given up, as a share, while the next one is made better."""


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
class Aim:
    """Something to make small: in the model, and as read from the true states; never under its floor."""

    name: str
    objective: Callable[[Model], pulp.LpAffineExpression]
    read: Callable[[Worth], float]
    whole: bool = False
    floor: Callable[[Model], float] = lambda _: 0.0


@dataclass
class Search:
    """The model, the best batches so far, and what is left of the time."""

    model: Model
    time_s: float
    seed: int = 0
    cancel: threading.Event | None = None
    began: float = field(default_factory=time.monotonic)
    best: list[set[str]] | None = None
    held: dict[str, pulp.LpConstraint] = field(default_factory=dict)
    cuts: int = 0

    @property
    def left_s(self) -> float:
        """Seconds left."""
        return max(0.0, self.time_s - (time.monotonic() - self.began))

    def solve(self, objective: pulp.LpAffineExpression, seconds: float, gap: float = 1e-7) -> Answer:
        """Minimise; an answer that the true states refuse is shut out and the search goes on."""
        until = time.monotonic() + seconds
        while True:
            limits = Limits(
                time_s=until - time.monotonic(), relative_gap=gap, absolute_gap=1e-7, seed=self.seed
            )
            start = None if self.best is None else self.model.start(self.best)
            program = self.model.program
            answer = run(program, objective, limits, extra=self.held, start=start, cancel=self.cancel)
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

    def improve(self, aims: Sequence[Aim]) -> tuple[Aimed, ...]:
        """Solve the aims in turn from the best schedule so far, each held while the next is solved."""
        found: list[Aimed] = []
        for number, aim in enumerate(aims):
            is_last = number == len(aims) - 1
            objective = aim.objective(self.model)
            answer = self.solve(objective, self.left_s * (1.0 if is_last else FIRST_SHARE))
            best = self.best or []
            value = aim.read(worth(self.model.work, self.model.slots, best))
            bound = max(answer.bound, aim.floor(self.model))
            if aim.whole and math.isfinite(bound):
                bound = float(math.ceil(bound - 1e-6))
            proven = answer.ending is Ending.PROVEN or (aim.whole and bound >= value)
            found.append(Aimed(aim.name, value, min(value, bound), proven))
            if number == 0 and best:
                until = time.monotonic() + self.left_s * POLISH_SHARE
                model = self.model
                self.best = best = polished(model.work, model.slots, best, model.ready_h, until)
            if not is_last:
                self._hold(aim.name, objective, best)
        return tuple(found)

    def _hold(self, name: str, objective: pulp.LpAffineExpression, best: Sequence[set[str]]) -> None:
        """Keep an aim where the best schedule has it."""
        values = self.model.start(best)
        value = float(objective.constant + sum(c * values[v.name] for v, c in objective.items()))
        self.held[f"held: {name}"] = objective <= value + HOLD_SHARE * max(1.0, abs(value))


def _over_time(figure: Callable[[Figures], Poly]) -> Callable[[Model], pulp.LpAffineExpression]:
    """Give the mean over time of a figure of the states between the windows."""

    def objective(model: Model) -> pulp.LpAffineExpression:
        poly = figure(Figures(model.work.change))
        spans = spans_h(model.slots)
        summed, constant = [], 0.0
        for index, span in enumerate(spans):
            terms, fixed = model.linear(poly, index)
            share = span / sum(spans)
            summed += [(variable, value * share) for variable, value in terms]
            constant += fixed * share
        return model.program.total(summed) + constant

    return objective


def _risk(model: Model) -> pulp.LpAffineExpression:
    """Give the most critical services that one window moves."""
    most = model.program.continuous("critical at once", None)
    for index in range(len(model.slots)):
        terms = [
            (variable, sign * critical(model.work, block.name))
            for block in model.work.blocks
            for variable, sign in model.new(block.name, index)
        ]
        model.at_most(f"critical@{index}", [*terms, (most, -1.0)], 0.0)
    return pulp.LpAffineExpression({most: 1.0})


AIMS = (
    Aim(
        "windows",
        lambda model: pulp.lpSum(model.used),
        lambda found: float(found.windows),
        whole=True,
        floor=lambda model: float(least_windows(model.work, model.slots)),
    ),
    Aim("level over time", _over_time(Figures.loudness), lambda found: found.loudness),
    Aim("watts over time", _over_time(Figures.mean_power), lambda found: found.power_w),
    Aim("critical at once", _risk, lambda found: float(found.critical), whole=True),
)
"""Fewest windows, then quiet earliest, then fewest watt-hours, then the least at risk at once."""
