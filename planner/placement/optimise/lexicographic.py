"""The aims in the person's order: each is improved to a proof while those before it are held.

Why so: an aim leaves 30 % of the time to those that follow. On 1,000 services watts took all of it, and
money had no bound at all.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import replace

from planner.domain.plan import SOUND_STEP_DB, AimResult
from planner.domain.rules import Aim
from planner.domain.state import State
from planner.placement.formulation.question_model import HOLD, Question
from planner.placement.optimise.answering import Answering
from planner.placement.optimise.proofs import PATTERNS, ZERO, Pending, Proofs, road_of
from planner.placement.packing.decode import realise
from planner.solver import Answer, Ending
from planner.solver.confirm import Verdict
from planner.solver.standard_form import Floats
from planner.verify import verify_state

LEFT_SHARE = 0.3
"""Share of the time left that an aim leaves to those that follow."""

RETRIES = 3
"""Times that a solve goes on anew after a proof of it was refuted."""

STEP_SHARE = 2e-6
"""By what share a plan must be better to count against a proof: less is a solver's rounding."""

DECODE_S = 2.0
"""Seconds to make a plan of the point that refutes a claim."""


class Pursuit(Answering):
    """One solve of a site through all its aims, with one clock and one best state."""

    patience_s = 15.0
    """Seconds that are waited at the end for proofs that are still to be confirmed."""

    given = 0
    """How many values were held before the first aim."""

    no_plan_shown_by = ""
    """What shows, beside one run of a solver, that there is no plan."""

    proofs: Proofs

    def through(self, aims: Sequence[Aim], results: list[AimResult]) -> None:
        """Pursue all aims in order and add their results, each proof shown by a second road in time.

        Where a proof is refuted the solve goes on from the better plan, without presolve.
        """
        self.given, self.proofs = len(self.held), Proofs(self.limits, self.cancel, self.patience_s)
        self.no_plan_shown_by = ""
        for last_try in (*[False] * RETRIES, True):
            for aim in aims[len(results) :]:
                results.append(self.pursue(aim, is_last=aim is aims[-1]))
                if self.best is None:
                    break
            first = self._settle(results, aims, last_try)
            if first is None:
                return
            del results[first:]
            self._go_on_from(first)

    def pursue(self, aim: Aim, is_last: bool = True) -> AimResult:
        """Improve one aim and hold what was reached; without any plan the value is infinite.

        One that others follow leaves them a part of the time.
        """
        self.until = self.deadline - (0.0 if is_last else LEFT_SHARE * (self.deadline - time.monotonic()))
        self._show(aim)
        result = self._quietest() if aim is Aim.SOUND else self._least(aim)
        if self.best is not None:
            if result.proven and result.value <= 0.0:
                result = replace(result, confirmed_by=ZERO)
            elif result.proven and not result.confirmed_by:
                self._claim(result)
            self.held.append((aim, result.value))
            self.script.hold(aim, result.value)
            self._show(aim, result.bound)
        elif self.infeasible:
            claim = self.script.claim(Question(aim, minimise=False), solver=self.limits.solver)
            self.proofs.submit(Pending(self._number, self.model, claim, math.inf))
        return result

    def _least(self, aim: Aim) -> AimResult:
        if self._already(aim):
            return AimResult(aim, 0.0, 0.0, True, ZERO)
        question = Question(aim, minimise=True)
        answer = self._ask(question)
        value = self.value(aim)
        bound = max(0.0, min(answer.bound, value)) if math.isfinite(answer.bound) else 0.0
        tolerance = max(HOLD[aim], 0.999 * self.script.grain(question))
        proven = value - bound <= tolerance
        shown = PATTERNS if value - self.sure_bound <= tolerance else ""
        return AimResult(aim, value, value if proven else bound, proven, shown if proven else "")

    def _quietest(self) -> AimResult:
        """Find the least level by bisection in steps: each level is a question with a proven yes or no."""
        silent = None if self._already(Aim.SOUND) else self._reach(0.0)
        if silent is None or silent.found:
            return AimResult(Aim.SOUND, self.value(Aim.SOUND), 0.0, True, ZERO)
        if self.best is None and not self._ask(Question(Aim.SOUND, minimise=False)).found:
            return AimResult(Aim.SOUND, math.inf, 0.0, False)
        reached, refused = self.value(Aim.SOUND), 0.0
        if silent.ending is not Ending.INFEASIBLE:
            refused -= SOUND_STEP_DB
        while reached - refused > SOUND_STEP_DB + 1e-9:
            steps = round((reached - refused) / SOUND_STEP_DB)
            asked = refused + SOUND_STEP_DB * (steps // 2)
            answer = self._reach(asked)
            if answer.found:
                reached = min(asked, self.value(Aim.SOUND))
            elif answer.ending is not Ending.INFEASIBLE:
                return AimResult(Aim.SOUND, reached, refused + SOUND_STEP_DB, False)
            else:
                refused = asked
            self._show(Aim.SOUND, refused + SOUND_STEP_DB)
        return AimResult(Aim.SOUND, reached, refused + SOUND_STEP_DB, True)

    def _reach(self, over_db: float) -> Answer:
        return self._ask(Question(Aim.SOUND, minimise=False, over_db=over_db))

    @property
    def _number(self) -> int:
        """The number of the aim in hand."""
        return len(self.held) - self.given

    def _claim(self, result: AimResult) -> None:
        """Have it confirmed that no plan is better in an aim, with what is held before it."""
        if self.pattern_claim is not None:
            self.proofs.submit(Pending(self._number, None, self.pattern_claim(), result.value))
            return
        if result.aim is Aim.SOUND:
            question, below = Question(Aim.SOUND, False, result.value - SOUND_STEP_DB), math.inf
        else:
            question = Question(result.aim, minimise=True)
            below = result.value - self._step(question, result.value)
        claim = self.script.claim(question, below, self.limits.solver)
        self.proofs.submit(Pending(self._number, self.model, claim, result.value, not self.by_patterns))

    def _step(self, question: Question, value: float) -> float:
        """Compute by how much a plan must be better to count as better."""
        steps = 0.999 * self.script.grain(question), 2.0 * HOLD[question.aim], STEP_SHARE * abs(value)
        return max(steps)

    def _settle(self, results: list[AimResult], aims: Sequence[Aim], last_try: bool) -> int | None:
        """Write into results what showed each proof; find the first aim whose proof was refuted.

        On the last try such a proof is taken back instead.
        """
        for number, (pending, verdict) in sorted(self.proofs.settle(self.deadline).items()):
            if verdict.refuted_by is not None and self._contradicts(pending, verdict, aims[number]):
                if not last_try:
                    return number
                results[number:] = [_taken_back(result) for result in results[number:]]
                self.infeasible = False
                return None
            if self.best is None:
                self.no_plan_shown_by = road_of(verdict)
            elif number < len(results):
                results[number] = replace(results[number], confirmed_by=road_of(verdict))
        return None

    def _contradicts(self, pending: Pending, verdict: Verdict, aim: Aim) -> bool:
        """Say whether a point that refutes a claim means that a run answered falsely, and take its plan.

        A point that packs into no plan says so only where the claim was about the very programme that ran.
        """
        assert verdict.refuted_by is not None
        state = self._decoded(pending, verdict.refuted_by)
        is_plan = state is not None and self._passes(state, self.held[: self.given + pending.number])
        if state is not None and is_plan and self._is_better(aim, state, pending.value):
            self.best = state
            found = f"a plan of {self.value(aim, state):.2f} was found"
        elif pending.by_run and not is_plan and pending.claim.is_clearly_refuted_by(verdict.refuted_by):
            found = "another solver found an answer to the same programme"
        else:
            return False
        said = "that no plan exists" if math.isinf(pending.value) else f"{pending.value:.2f} to be the least"
        self.contradictions.append(f"{aim}: a run of the solver called {said}, {found}")
        return True

    def _passes(self, state: State, held: Sequence[tuple[Aim, float]]) -> bool:
        """Say whether the judge passes a state that keeps what is held and all else that was asked."""
        return not verify_state(self.site, state) and self._keeps(state, held) and self._admits(state)

    def _decoded(self, pending: Pending, point: Floats) -> State | None:
        """Make the state that a point of a claim's model describes; None where it packs into none."""
        if pending.model is None:
            return None
        names = [variable.name for variable in pending.model.program.variables]
        values = dict(zip(names, point.tolist(), strict=False))
        return realise(pending.model, values, replace(self.limits, time_s=DECODE_S), self.cancel).state

    def _is_better(self, aim: Aim, state: State, value: float) -> bool:
        return math.isinf(value) or self.value(aim, state) < value - max(HOLD.get(aim, 0.0), 1e-9)

    def _go_on_from(self, number: int) -> None:
        """Forget what was held and proven from an aim on, and ask without presolve from now on."""
        self.proofs.forget(number)
        self.limits = replace(self.limits, presolve=False)
        del self.held[self.given + number :]
        self.joined.clear()
        self.infeasible, self.script.most_w = False, math.inf
        self._write()


def _taken_back(result: AimResult) -> AimResult:
    """Make a result that is proven no more: its bound rested on what was refuted."""
    bound = 0.0 if result.proven else result.bound
    return replace(result, bound=bound, proven=False, confirmed_by="")
