"""The model written down for a site, and the questions put to it: the least of an aim, or any plan."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

import pulp

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.formulation import Model, build
from planner.placement.formulation.acoustic import Hearing
from planner.placement.formulation.capacity_rows import add_hours
from planner.placement.formulation.objectives import objective
from planner.placement.formulation.packing_cuts import Cut, cut_rows, unsure_rows
from planner.placement.formulation.peak_hours import overfull_hours
from planner.placement.formulation.problem import Fits, Loss, prepare
from planner.placement.formulation.thermal import cooling_rows
from planner.placement.formulation.warm_start import start_values
from planner.placement.params import PARAMS
from planner.solver import Answer, Limits, relax, run
from planner.solver.confirm import Claim
from planner.solver.standard_form import form_of

HOLD = {Aim.POWER: PARAMS.near.held, Aim.COST: PARAMS.near.held, Aim.CHANGE: PARAMS.near.held_change}
"""How much of a held aim the next ones may give back, in its own unit: a solver's tolerance, no more."""

Watch = Callable[[float, float, float], None]


@dataclass(frozen=True)
class Question:
    """What is asked: the least of an aim, or any plan; at most ``over_db`` over the targets if given."""

    aim: Aim
    minimise: bool
    over_db: float | None = None


def grain(expression: pulp.LpAffineExpression) -> float:
    """Compute the step in which an expression of whole numbers can change, 0 where by any amount.

    Values that differ by less than a step are equal, so a gap under it is a proof.
    """
    hundredths = 0
    for variable, coefficient in expression.items():
        amount = round(coefficient * 100.0)
        if variable.cat != pulp.LpInteger or abs(amount - coefficient * 100.0) > 1e-6:
            return 0.0
        hundredths = math.gcd(hundredths, amount)
    return hundredths / 100.0


@dataclass(frozen=True)
class Learnt:
    """What a solve has found out about its site, for the next model: what fits where, hours that bind."""

    fits: Fits = field(default_factory=dict)
    hours: set[int] = field(default_factory=set)


class QuestionModel:
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
        lost: frozenset[Loss] = frozenset(),
        learnt: Learnt | None = None,
    ) -> None:
        self.learnt = learnt or Learnt()
        self.model: Model = build(prepare(site, single, squeeze, lost, self.learnt.fits, previous))
        add_hours(self.model, self.learnt.hours)
        self.model.previous = previous
        self.hearing = Hearing(self.model)
        self.most_w = math.inf
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
            if aim is Aim.POWER:
                self.most_w = value + HOLD[aim]
            self.rows[f"hold:{aim}"] = objective(self.model, aim) <= value + HOLD[aim]

    def release(self) -> None:
        """Hold no aim any more."""
        self.most_w = math.inf
        self.rows = {name: row for name, row in self.rows.items() if not name.startswith(("hold:", "sound:"))}

    def cut(self, cuts: Iterable[Cut]) -> None:
        """Add what packing taught, as far as it speaks of pools that are still pools."""
        cuts = tuple(cuts)
        self.rows.update(cut_rows(self.model, cuts))
        self.unsure = unsure_rows(cuts)

    def grain(self, question: Question) -> float:
        """Compute the step of what a question minimises."""
        return grain(objective(self.model, question.aim)) if question.minimise else 0.0

    def ask(
        self,
        question: Question,
        limits: Limits,
        start: State | None = None,
        cancel: threading.Event | None = None,
        watch: Watch | None = None,
        fixed: Mapping[str, pulp.LpConstraint] | None = None,
    ) -> Answer:
        """Put a question; the answer is about pools, which packing has yet to confirm.

        Hours that an answer overfills are written and the question is put again; what bounds it with fewer
        hours bounds it with all of them.
        """
        wanted, rows = self.write(question)
        gap = max(limits.absolute_gap, 0.999 * grain(wanted))
        deadline, floor = time.monotonic() + limits.time_s, -math.inf
        while True:
            answer = run(
                self.model.program,
                wanted,
                replace(limits, absolute_gap=gap, time_s=deadline - time.monotonic()),
                extra={**rows, **(fixed or {})},
                start=start_values(self.model, start) if start is not None else None,
                cancel=cancel,
                watch=watch,
            )
            missing = overfull_hours(self.model, answer.values) if answer.found else None
            floor = max(floor, answer.bound)
            if not missing:
                return replace(answer, bound=floor)
            add_hours(self.model, missing)
            self.learnt.hours.update(missing)

    def claim(self, question: Question, below: float = math.inf, solver: str = "highs") -> Claim:
        """Make the claim that no answer to a question is worth at most ``below``, or that there is none."""
        wanted, rows = self.write(question)
        sure = {name: row for name, row in rows.items() if name not in self.unsure}
        form = form_of(self.model.program.variables, wanted, {**self.model.program.rows, **sure})
        return Claim(form, below, solver)

    def fixed_by_relaxation(self, question: Question, limits: Limits) -> Mapping[str, pulp.LpConstraint]:
        """Build rows that settle every placement on which the relaxation of a question is of one mind."""
        wanted, rows = self.write(question)
        relaxed = relax(self.model.program, wanted, limits, rows)
        return {
            f"settled:{variable.name}": variable == round(relaxed.values[variable.name])
            for variable in (self.model.place.values() if relaxed.found else ())
            if abs(relaxed.values[variable.name] - round(relaxed.values[variable.name])) < PARAMS.near.whole
        }

    def write(self, question: Question) -> tuple[pulp.LpAffineExpression, dict[str, pulp.LpConstraint]]:
        """Build what a question minimises, and the rows beside the model's own.

        Of a question for the least power only answers of at most ``most_w`` are wanted, once that is known.
        """
        wanted = objective(self.model, question.aim) if question.minimise else pulp.LpAffineExpression()
        quiet = self.hearing.rows(question.over_db) if question.over_db is not None else {}
        asks_power = question.minimise and question.aim is Aim.POWER
        known = math.isfinite(self.most_w) and (asks_power or f"hold:{Aim.POWER}" in self.rows)
        cool = cooling_rows(self.model, self.most_w) if known else {}
        return wanted, {**self.rows, **quiet, **cool}
