"""The aims in the person's order: each is improved to a proof while those before it are held.

Why so: an aim leaves 30 % of the time to those that follow. On 1,000 services watts took all of it, and
money had no bound at all.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from planner.domain.plan import SOUND_STEP_DB, AimResult
from planner.domain.rules import Aim
from planner.domain.state import State
from planner.placement.formulation.question_model import HOLD, Question
from planner.placement.optimise.context import Context, Inquiry
from planner.placement.optimise.proofs import PATTERNS, ZERO, Pending, Proofs, road_of
from planner.placement.optimise.sound_levels import bisect_levels
from planner.placement.optimise.strategies import answer_question
from planner.placement.packing.decode import decode
from planner.placement.params import PARAMS
from planner.solver.confirm import Verdict
from planner.solver.standard_form import Floats

FindLevel = Callable[[Context], AimResult]


class Lexicographic:
    """One solve through all its aims, with the second road to each proof.

    ``find_level`` searches for the least level of sound; ``patience_s``: seconds that are waited at the end
    for proofs that are still to be confirmed.
    """

    def __init__(
        self,
        context: Context,
        find_level: FindLevel = bisect_levels,
        patience_s: float = PARAMS.proofs.patience_s,
    ) -> None:
        self._context, self._find_level = context, find_level
        self._given = len(context.incumbent.held)
        self._proofs = Proofs(context.budget.limits, context.budget.cancel, patience_s)
        context.no_plan_shown_by = ""

    def solve(self, aims: Sequence[Aim], results: list[AimResult]) -> None:
        """Solve for all aims in order and add their results, each proof shown by a second road in time.

        Where a proof is refuted the solve goes on from the better plan, without presolve.
        """
        for last_try in (*[False] * PARAMS.proofs.retries, True):
            for aim in aims[len(results) :]:
                results.append(self._improve(aim, is_last=aim is aims[-1]))
                if self._context.incumbent.best is None:
                    break
            first = self._settle(results, aims, last_try)
            if first is None:
                return
            del results[first:]
            self._go_on_from(first)

    def _improve(self, aim: Aim, *, is_last: bool) -> AimResult:
        """Improve one aim and hold what was reached; without any plan the value is infinite."""
        context, incumbent = self._context, self._context.incumbent
        context.budget.begin_aim(is_last=is_last)
        incumbent.tell(aim)
        inquiry = Inquiry(Question(aim, minimise=True))
        result = self._find_level(context) if aim is Aim.SOUND else self._least(inquiry)
        if incumbent.best is not None:
            if result.proven and result.value <= 0.0:
                result = replace(result, confirmed_by=ZERO)
            elif result.proven and not result.confirmed_by:
                self._claim(result, inquiry)
            context.hold(aim, result.value)
            incumbent.tell(aim, result.bound)
        elif context.infeasible:
            questions, solver = context.formulation.questions, context.budget.limits.solver
            claim = questions.claim(Question(aim, minimise=False), solver=solver)
            self._proofs.submit(Pending(self._number, questions.model, claim, math.inf))
        return result

    def _least(self, inquiry: Inquiry) -> AimResult:
        """Solve for the least of an aim."""
        context, question = self._context, inquiry.question
        if context.incumbent.leaves_nothing(question.aim):
            return AimResult(question.aim, 0.0, 0.0, True, ZERO)
        answer = answer_question(context, inquiry)
        value = context.incumbent.value(question.aim)
        bound = max(0.0, min(answer.bound, value)) if math.isfinite(answer.bound) else 0.0
        tolerance = max(HOLD[question.aim], 0.999 * context.formulation.questions.grain(question))
        proven = value - bound <= tolerance
        shown = PATTERNS if value - inquiry.shown <= tolerance else ""
        return AimResult(question.aim, value, value if proven else bound, proven, shown if proven else "")

    @property
    def _number(self) -> int:
        """The number of the aim in hand."""
        return len(self._context.incumbent.held) - self._given

    def _claim(self, result: AimResult, inquiry: Inquiry) -> None:
        """Have it confirmed that no plan is better in an aim, with what is held before it."""
        if inquiry.claim is not None:
            self._proofs.submit(Pending(self._number, None, inquiry.claim(), result.value))
            return
        questions, solver = self._context.formulation.questions, self._context.budget.limits.solver
        if result.aim is Aim.SOUND:
            question, below = Question(Aim.SOUND, False, result.value - SOUND_STEP_DB), math.inf
        else:
            question = inquiry.question
            rounding = PARAMS.proofs.step_share * abs(result.value)
            below = result.value - max(0.999 * questions.grain(question), 2.0 * HOLD[result.aim], rounding)
        claim = questions.claim(question, below, solver)
        by_run = not inquiry.by_patterns
        self._proofs.submit(Pending(self._number, questions.model, claim, result.value, by_run))

    def _settle(self, results: list[AimResult], aims: Sequence[Aim], last_try: bool) -> int | None:
        """Write into results what showed each proof; find the first aim whose proof was refuted.

        On the last try such a proof is taken back instead.
        """
        context = self._context
        for number, (pending, verdict) in sorted(self._proofs.settle(context.budget.deadline).items()):
            if verdict.refuted_by is not None and self._contradicts(pending, verdict, aims[number]):
                if not last_try:
                    return number
                results[number:] = [_taken_back(result) for result in results[number:]]
                context.infeasible = False
                return None
            if context.incumbent.best is None:
                context.no_plan_shown_by = road_of(verdict)
            elif number < len(results):
                results[number] = replace(results[number], confirmed_by=road_of(verdict))
        return None

    def _contradicts(self, pending: Pending, verdict: Verdict, aim: Aim) -> bool:
        """Say whether a point that refutes a claim means that a run answered falsely, and take its plan.

        A point that packs into no plan says so only where the claim was about the very programme that ran.
        """
        assert verdict.refuted_by is not None
        incumbent = self._context.incumbent
        state = self._decoded(pending, verdict.refuted_by)
        held = incumbent.held[: self._given + pending.number]
        is_plan = state is not None and incumbent.passes(state, held)
        if state is not None and is_plan and self._is_better(aim, state, pending.value):
            incumbent.best = state
            found = f"a plan of {incumbent.value(aim, state):.2f} was found"
        elif pending.by_run and not is_plan and pending.claim.is_clearly_refuted_by(verdict.refuted_by):
            found = "another solver found an answer to the same programme"
        else:
            return False
        said = "that no plan exists" if math.isinf(pending.value) else f"{pending.value:.2f} to be the least"
        self._context.contradictions.append(f"{aim}: a run of the solver called {said}, {found}")
        return True

    def _decoded(self, pending: Pending, point: Floats) -> State | None:
        """Make the state that a point of a claim's model describes; None where it packs into none."""
        if pending.model is None:
            return None
        names = [variable.name for variable in pending.model.program.variables]
        values = dict(zip(names, point.tolist(), strict=False))
        budget = self._context.budget
        limits = replace(budget.limits, time_s=PARAMS.proofs.decode_s)
        return decode(pending.model, values, limits, budget.cancel).state

    def _is_better(self, aim: Aim, state: State, value: float) -> bool:
        reached = self._context.incumbent.value(aim, state)
        return math.isinf(value) or reached < value - max(HOLD.get(aim, 0.0), 1e-9)

    def _go_on_from(self, number: int) -> None:
        """Forget what was held and proven from an aim on, and ask without presolve from now on."""
        self._proofs.forget(number)
        self._context.go_back_to(self._given + number)


def _taken_back(result: AimResult) -> AimResult:
    """Make a result that is proven no more: its bound rested on what was refuted."""
    bound = 0.0 if result.proven else result.bound
    return replace(result, bound=bound, proven=False, confirmed_by="")
