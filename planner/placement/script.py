"""The model written down for a site, and the questions put to it: the least of an aim, or any plan."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import pulp

from planner.milp import Answer, Limits, run
from planner.placement.cuts import Cut, cut_rows
from planner.placement.model import Model, build
from planner.placement.model.aims import objective
from planner.placement.model.hearing import Hearing
from planner.placement.model.hours import overfull_hours
from planner.placement.model.limits import add_hours
from planner.placement.problem import prepare
from planner.placement.realise import start_values
from planner.site import Aim, Site
from planner.state import State

HOLD = {Aim.POWER: 1e-4, Aim.COST: 1e-4, Aim.CHANGE: 1e-3}
"""How much of a held aim the next ones may give back, in its own unit: a solver's tolerance, no more."""

Watch = Callable[[float, float, float], None]


@dataclass(frozen=True)
class Question:
    """What is asked: the least of an aim, or any plan; at most ``over_db`` over the targets if given."""

    aim: Aim
    minimise: bool
    over_db: float | None = None


def grain(expression: pulp.LpAffineExpression) -> float:
    """Give the step in which an expression of whole numbers can change, 0 where it can change by any amount.

    Values that differ by less than a step are equal, so a gap under it is a proof.
    """
    hundredths = 0
    for variable, coefficient in expression.items():
        amount = round(coefficient * 100.0)
        if variable.cat != pulp.LpInteger or abs(amount - coefficient * 100.0) > 1e-6:
            return 0.0
        hundredths = math.gcd(hundredths, amount)
    return hundredths / 100.0


class Script:
    """A model with the rows that hold what earlier aims reached, and the cuts found on the way."""

    def __init__(
        self,
        site: Site,
        single: frozenset[str] = frozenset(),
        squeeze: float = 0.0,
        held: Iterable[tuple[Aim, float]] = (),
        cuts: Iterable[Cut] = (),
        fixed: State | None = None,
        previous: State | None = None,
        lost: frozenset[str] = frozenset(),
    ) -> None:
        self.model: Model = build(prepare(site, single, squeeze, lost))
        self.model.previous = previous
        self.hearing = Hearing(self.model)
        self.rows: dict[str, pulp.LpConstraint] = {}
        if fixed is not None:
            values = start_values(self.model, fixed)
            variables = [*self.model.on.values(), *self.model.place.values()]
            self.rows.update({f"fixed:{v.name}": v == values[v.name] for v in variables})
        for aim, value in held:
            self.hold(aim, value)
        self.cut(cuts)

    def hold(self, aim: Aim, value: float) -> None:
        """Keep an aim at a value from now on."""
        if aim is Aim.SOUND:
            self.rows.update(self.hearing.rows(value))
        else:
            self.rows[f"hold:{aim}"] = objective(self.model, aim) <= value + HOLD[aim]

    def cut(self, cuts: Iterable[Cut]) -> None:
        """Add what packing taught, as far as it speaks of pools that are still pools."""
        self.rows.update(cut_rows(self.model, cuts))

    def grain(self, question: Question) -> float:
        """Give the step of what a question minimises."""
        return grain(objective(self.model, question.aim)) if question.minimise else 0.0

    def ask(
        self,
        question: Question,
        limits: Limits,
        start: State | None = None,
        cancel: threading.Event | None = None,
        watch: Watch | None = None,
    ) -> Answer:
        """Put a question; the answer is about pools, which packing has yet to confirm."""
        wanted = objective(self.model, question.aim) if question.minimise else pulp.LpAffineExpression()
        quiet = self.hearing.rows(question.over_db) if question.over_db is not None else {}
        gap = max(limits.absolute_gap, 0.999 * grain(wanted))
        deadline = time.monotonic() + limits.time_s
        while True:
            answer = run(
                self.model.program,
                wanted,
                replace(limits, absolute_gap=gap, time_s=deadline - time.monotonic()),
                extra={**self.rows, **quiet},
                start=start_values(self.model, start) if start is not None else None,
                cancel=cancel,
                watch=watch,
            )
            missing = overfull_hours(self.model, answer.values) if answer.found else None
            if not missing:
                return answer
            add_hours(self.model, missing)
