"""What a solve works with (incumbent, formulation, budget), and a question while it is being answered."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from planner.domain.plan import places
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.formulation.question_model import HOLD, Question
from planner.placement.optimise.budget import Budget
from planner.placement.optimise.formulation import ExtraRows, Formulation
from planner.placement.optimise.incumbent import Admits, Incumbent, Tell
from planner.placement.optimise.initial_plan import first_plan
from planner.placement.packing.decode import Decoded
from planner.placement.params import PARAMS
from planner.solver import Answer, Ending, Limits
from planner.solver.confirm import Claim

NOTHING_KNOWN = Answer(Ending.EMPTY, {}, math.inf, -math.inf, 0.0)

Asked = tuple[Question, tuple[tuple[Aim, float], ...]]
"""A question with the aims held when it was asked."""


@dataclass
class Inquiry:
    """A question while it is being answered, and what its strategies have found out by now.

    ``pooled``: the last answer about pools, whose bound holds for all plans. ``failed``: why its pools did
    not pack; None once that was learnt from. ``tightened``: the answer of a model with capacity left out.
    ``shown``: what of the bound prices alone show; ``claim``: makes what patterns claim of the rest.
    """

    question: Question
    pooled: Answer = NOTHING_KNOWN
    failed: Decoded | None = None
    lessons: int = 0
    tightened: Answer | None = None
    by_patterns: bool = False
    shown: float = -math.inf
    claim: Callable[[], Claim] | None = None


Strategy = Callable[["Context", Inquiry], Answer | None]
"""Answers a question, or leaves what it found out to the strategies after it."""


@dataclass(frozen=True)
class Strategies:
    """Strategies that are tried once, then those that are tried in rounds until one answers."""

    once: tuple[Strategy, ...]
    rounds: tuple[Strategy, ...]


@dataclass
class Context:
    """One solve of a site. ``start``: a state to start from; ``strategies``: None for those of its size.

    ``infeasible``: whether a run said that there is no plan; ``no_plan_shown_by``: what shows that beside
    one run. ``contradictions``: where runs of solvers contradicted each other or a known plan.
    """

    site: Site
    incumbent: Incumbent
    formulation: Formulation
    budget: Budget
    start: State | None = None
    strategies: Strategies | None = None
    infeasible: bool = False
    no_plan_shown_by: str = ""
    asked_by_patterns: set[Asked] = field(default_factory=set)
    contradictions: list[str] = field(default_factory=list)

    def hold(self, aim: Aim, value: float) -> None:
        """Keep an aim at a value from now on."""
        self.incumbent.held.append((aim, value))
        self.formulation.questions.hold(aim, value)

    def rewrite(self) -> None:
        """Write the model anew with all that is held and learnt."""
        self.formulation.write(self.incumbent.held)

    def go_back_to(self, count: int) -> None:
        """Forget the aims held after the first ``count``, and do without presolve from now on."""
        self.budget.go_without_presolve()
        del self.incumbent.held[count:]
        self.asked_by_patterns.clear()
        self.infeasible = False
        self.rewrite()

    def settles(self, inquiry: Inquiry) -> bool:
        """Say whether the bound that is known proves the best state."""
        question = inquiry.question
        if not question.minimise or self.incumbent.valid is None:
            return False
        gap = self.incumbent.value(question.aim) - inquiry.pooled.bound
        return gap <= max(HOLD[question.aim], 0.999 * self.formulation.questions.grain(question))


def context_of(
    site: Site,
    limits: Limits,
    cancel: threading.Event | None = None,
    *,
    tell: Tell | None = None,
    start: State | None = None,
    fixed: State | None = None,
    previous: State | None = None,
    extra_rows: ExtraRows = lambda _: {},
    admits: Admits = lambda _: True,
    tells_boxes_apart: bool = False,
) -> Context:
    """Make what a solve works with; the clock starts now, `prepare` writes the model.

    ``fixed``: a state whose services keep their places. ``extra_rows``, ``admits``: what a study asks of
    the model and of a state beside the site's rules.
    """
    admitted = admits if fixed is None else _keeps_places_of(fixed)
    return Context(
        site,
        Incumbent(site, previous, tell, admitted),
        Formulation(site, fixed, previous, extra_rows, tells_boxes_apart),
        Budget(limits, cancel, len(site.services) >= PARAMS.budget.large_site),
        start,
    )


def prepare(context: Context, *, wants_first_plan: bool = True) -> None:
    """Search for a first plan where that is quick, and write the model."""
    budget, incumbent = context.budget, context.incumbent
    if wants_first_plan:
        incumbent.best = first_plan(
            context.site, context.start, budget.limits.seed, incumbent.previous, is_large=budget.is_large
        )
    context.rewrite()


def _keeps_places_of(fixed: State) -> Admits:
    """Make the check that services are where a state has them."""
    asked = places(fixed)

    def admits(state: State) -> bool:
        there = places(state)
        return all(there.get(name) == place for name, place in asked.items())

    return admits
