"""Plans nearly as good as the best, each different in something that a person cares about.

Four sorts of decisions are told apart: what is bought, which boxes stay on, what stays physical, what cools.
In turn, each sort is asked for the best plan within the margins that decides otherwise there than every
plan shown so far; a no is proven.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

import pulp

from planner.domain.plan import TIME_LIMIT, Outcome, Plan, aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.placement.formulation import Model
from planner.placement.formulation.capacity_rows import reuses
from planner.placement.optimise.budget import Budget
from planner.placement.optimise.chance_constraint import (
    asks_for_confidence,
    least_margins_db,
    next_margins_db,
    restate,
    tighten_targets,
)
from planner.placement.optimise.context import context_of
from planner.placement.params import PARAMS
from planner.placement.result import Options, refuse_rejected
from planner.placement.studies.alternatives import (
    Alternative,
    Alternatives,
    Decided,
    Margins,
    Sort,
    decisions,
)
from planner.placement.studies.bounded_solve import BoundedAnswer, BoundedSolve
from planner.solver import Limits

ROW = "differs:"

CONFIDENCE = "the confidence asked for"
"""What stops a search in which an answer was found that is not sure enough, and no other."""


def alternatives(
    site: Site,
    plan: Plan,
    margins: Margins | None = None,
    options: Options | None = None,
    most: int = 5,
    *,
    cancel: threading.Event | None = None,
    watch: Callable[[Alternatives], None] | None = None,
) -> Alternatives:
    """Search for up to ``most`` alternatives to a plan; every one has passed the judge.

    ``watch`` hears of all that are found whenever there is one more.
    A target that carries a confidence is kept so surely by each alternative as well. Raises
    RejectedPlanError when the judge rejects what the solver found.
    """
    options, margins = options or Options(), margins or Margins()
    limits = Limits(time_s=options.time_s, seed=options.seed, solver=options.solver)
    relaxed = tighten_targets(site, least_margins_db(site)) if asks_for_confidence(site) else site
    solver = DifferingSolve(relaxed, limits, cancel, plan.state)
    order = (*(a for a in options.aims or site.policy.aims if a is not Aim.CHANGE), Aim.CHANGE)
    allowed = at_most(site, plan, margins)
    found: list[Alternative] = []
    left = list(Sort)
    stopped = ""
    while left and len(found) < most and not stopped:
        sort = left.pop(0)
        asked = Asked(site, sort, (plan.state, *(item.plan.state for item in found)), allowed, order)
        within = solver.other(sort, asked.shown, allowed, order)
        other = _surely(asked, solver, within, plan)
        if other is not None:
            found.append(Alternative(sort, other))
            left.append(sort)
            if watch is not None:
                watch(Alternatives(margins, tuple(found)))
        else:
            stopped = _stopped_by(within, solver.budget)
        if time.monotonic() >= solver.budget.deadline and left and len(found) < most:
            stopped = stopped or TIME_LIMIT
    none_left = tuple(sort for sort in Sort if sort not in left) if not stopped else ()
    return Alternatives(margins, tuple(found), none_left, stopped)


def _stopped_by(within: BoundedAnswer, budget: Budget) -> str:
    """Say what ended a search that found no alternative; empty where it is proven that there is none."""
    if within.state is not None and time.monotonic() < budget.deadline:
        return CONFIDENCE
    return "" if within.empty and within.shown_by else budget.stopped_by()


@dataclass(frozen=True)
class Asked:
    """A question for the best plan that decides otherwise in a sort than those shown, within limits."""

    site: Site
    sort: Sort
    shown: tuple[State, ...]
    allowed: Mapping[Aim, float]
    order: tuple[Aim, ...]


def _surely(asked: Asked, solver: DifferingSolve, first: BoundedAnswer, base: Plan) -> Plan | None:
    """Solve against tighter targets until the answer is as sure as asked, by rounds as for a plan.

    The first answer is of targets that every plan must meet, so its bounds hold; without a confidence it is
    sure already. None where no answer is sure.
    """
    site, within, margins = asked.site, first, least_margins_db(asked.site)
    budget, params = solver.budget, PARAMS.confidence
    for number in range(params.rounds):
        if within.state is None or _is_sure(asked, within.state):
            break
        claim = Plan(within.state, within.results, Outcome.STOPPED_WITH_PLAN)
        margins = next_margins_db(site, claim, margins, gently=number < params.gentle_rounds)
        left_s = budget.deadline - time.monotonic()
        if left_s <= 0.0 or budget.is_cancelled:
            return None
        limits = replace(budget.limits, time_s=left_s)
        again = DifferingSolve(tighten_targets(site, margins), limits, budget.cancel, base.state)
        within = again.other(asked.sort, asked.shown, asked.allowed, asked.order)
    if within.state is None or first.state is None or not _is_sure(asked, within.state):
        return None
    plan, relaxed = (item.plan(budget.stopped_by(), base.state) for item in (within, first))
    made = restate(site, plan, relaxed) if asks_for_confidence(site) else plan
    refuse_rejected(site, made)
    return made


def _is_sure(asked: Asked, state: State) -> bool:
    """Say whether a state keeps the sound that is allowed as surely as the targets ask."""
    if not asks_for_confidence(asked.site):
        return True
    book = ledger(asked.site, state)
    return aim_value(asked.site, state, book, Aim.SOUND) <= asked.allowed[Aim.SOUND] + 1e-9


def at_most(site: Site, plan: Plan, margins: Margins) -> dict[Aim, float]:
    """Compute the worst value that each aim may have."""
    book = ledger(site, plan.state)
    value = {aim: aim_value(site, plan.state, book, aim) for aim in (Aim.SOUND, Aim.POWER, Aim.COST)}
    return {
        Aim.SOUND: value[Aim.SOUND] + margins.sound_db,
        Aim.POWER: value[Aim.POWER] * (1.0 + margins.power),
        Aim.COST: value[Aim.COST] * (1.0 + margins.cost),
    }


class DifferingSolve:
    """Solves among the plans that decide otherwise in a sort than some states do."""

    def __init__(self, site: Site, limits: Limits, cancel: threading.Event | None, previous: State) -> None:
        self._site = site
        self._unlike: tuple[tuple[Sort, State], ...] = ()
        context = context_of(
            site,
            limits,
            cancel,
            previous=previous,
            extra_rows=self._differences,
            admits=self._differs_from_all,
            tells_boxes_apart=True,
        )
        self._solver, self.budget = BoundedSolve(context), context.budget

    def other(
        self, sort: Sort, shown: Iterable[State], limits: Mapping[Aim, float], order: tuple[Aim, ...]
    ) -> BoundedAnswer:
        """Solve for the best plan within limits that decides otherwise in a sort than every state shown."""
        self._unlike = tuple((sort, state) for state in shown)
        questions = self._solver.context.formulation.questions
        kept = {name: row for name, row in questions.rows.items() if not name.startswith(ROW)}
        questions.rows = {**kept, **self._differences(questions.model)}
        return self._solver.within(limits, order)

    def _differs_from_all(self, state: State) -> bool:
        """Say whether a state decides otherwise than every one that was shown."""
        return all(
            decisions(self._site, state, sort) != decisions(self._site, shown, sort)
            for sort, shown in self._unlike
        )

    def _differences(self, model: Model) -> dict[str, pulp.LpConstraint]:
        """Write a row for each state: at least one decision of the sort is another one."""
        rows: dict[str, pulp.LpConstraint] = {}
        for number, (sort, state) in enumerate(self._unlike):
            name = f"{ROW}{sort}/{number}"
            differ = pulp.LpAffineExpression()
            for what, count in decisions(self._site, state, sort).items():
                called = f"{name}/{what.name}{' re-used' if what.reused else ''}"
                differ += _differs(model, rows, called, _counted(model, sort, what), count)
            rows[name] = differ >= 1
        return rows


def _differs(
    model: Model,
    rows: dict[str, pulp.LpConstraint],
    name: str,
    counted: pulp.LpAffineExpression,
    count: int,
) -> pulp.LpAffineExpression:
    """Build an expression that is at least 1 only if a count differs, 0 where it cannot."""
    most = round(sum(factor * variable.upBound for variable, factor in counted.items()))
    if most <= 1:
        return 1 - counted if count else counted
    differ = pulp.LpAffineExpression()
    if count < most:
        more = model.program.binary(f"{name} more")
        rows[f"{name} more"] = counted - (count + 1) * more >= 0
        differ += more
    if count > 0:
        fewer = model.program.binary(f"{name} fewer")
        rows[f"{name} fewer"] = counted + (most - count + 1) * fewer <= most
        differ += fewer
    return differ


def _counted(model: Model, sort: Sort, what: Decided) -> pulp.LpAffineExpression:
    """Look up a decision as the model counts it."""
    slots, total, name = model.problem.slots, model.program.total, what.name
    if what.reused:
        return total((model.on[slot.key], 1.0) for slot in slots if reuses(model, slot) and slot.box == name)
    if name in model.have and sort in (Sort.COOLING, Sort.BOUGHT):
        return total([(model.have[name], 1.0)])
    if sort is Sort.PHYSICAL:
        item = next(i for i in model.problem.items if any(s.name == name for s in i.services))
        bare = [slot for slot in model.problem.slots_of(item) if not slot.is_host]
        return total((model.place[item.index, slot.key], 1.0) for slot in bare)
    if sort is Sort.BOXES:
        return total((model.on[s.key], 1.0) for s in slots if s.box == name)
    return total((model.on[s.key], 1.0) for s in slots if not s.is_box and s.candidate.ref == name)
