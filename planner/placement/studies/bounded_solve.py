"""Plans within limits on the aims that no other plan beats (ε-constraint): one model for every question."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial

from planner.domain.plan import AimResult, Outcome, Plan
from planner.domain.rules import Aim
from planner.domain.state import State
from planner.placement.optimise.context import Context, prepare
from planner.placement.optimise.lexicographic import Lexicographic
from planner.placement.optimise.sound_levels import descend_levels
from planner.placement.params import PARAMS


@dataclass(frozen=True)
class BoundedAnswer:
    """What was found within limits: a state with the results of the aims, or none and whether that is proven.

    ``results`` are in the order asked for, their values those of the state, their bounds within the limits.
    ``shown_by``: what shows, beside one run of a solver, that there is none.
    """

    state: State | None
    results: tuple[AimResult, ...] = ()
    empty: bool = False
    shown_by: str = ""

    def plan(self, stopped_by: str, previous: State | None = None) -> Plan:
        """Build the plan of an answer; ``stopped_by``: what ended the search, where it is not proven."""
        assert self.state is not None
        proven = all(result.proven for result in self.results)
        outcome = Outcome.PROVEN if proven else Outcome.STOPPED_WITH_PLAN
        return Plan(self.state, self.results, outcome, "" if proven else stopped_by, previous)


class BoundedSolve:
    """Solves that start over within other limits, and keep what was learnt about packing.

    ``least_db``: a level that none of them can be under.
    """

    def __init__(self, context: Context) -> None:
        self.context, self.least_db = context, 0.0
        prepare(context)

    def within(self, limits: Mapping[Aim, float], order: tuple[Aim, ...]) -> BoundedAnswer:
        """Solve for aims in an order, each held, among the plans whose aims are at most the limits."""
        self._start_over(limits)
        context, results = self.context, list[AimResult]()
        find_level = partial(descend_levels, least_db=self.least_db)
        Lexicographic(context, find_level, PARAMS.proofs.study_patience_s).solve(order, results)
        if context.incumbent.best is None:
            return BoundedAnswer(None, empty=context.infeasible, shown_by=context.no_plan_shown_by)
        return BoundedAnswer(context.incumbent.best, tuple(self._final(result) for result in results))

    def _start_over(self, limits: Mapping[Aim, float]) -> None:
        """Forget what was found and held before, and hold each aim to its limit."""
        context = self.context
        context.incumbent.best, context.infeasible = None, False
        context.incumbent.held.clear()
        context.formulation.questions.release()
        for aim, value in limits.items():
            context.hold(aim, value)

    def _final(self, result: AimResult) -> AimResult:
        """Make a result with the value of the last state, which a later aim may have made better."""
        value = self.context.incumbent.value(result.aim)
        return replace(result, value=value, bound=min(result.bound, value))
