"""The aims in the person's order: each is improved to a proof while those before it are held.

A run solves the model with alike units pooled, which is small and leaves no symmetry, and packs the pools
afterwards. Where a pool does not pack, its kind is written out unit by unit and the same question is put
again; so a yes is always a state, and a no is always proven.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import pulp

from planner.ledger import ledger
from planner.milp import Answer, Ending, Limits, run
from planner.placement.model import Model, build
from planner.placement.model.aims import objective
from planner.placement.model.hearing import Hearing
from planner.placement.problem import prepare
from planner.placement.realise import realise, start_values
from planner.plan import SOUND_STEP_DB, AimResult, aim_value
from planner.site import Aim, Site
from planner.state import State

HOLD = {Aim.POWER: 1e-4, Aim.COST: 1e-4, Aim.CHANGE: 1e-3}
"""How much of a held aim the next ones may give back, in its own unit: a solver's tolerance, no more."""

Tell = Callable[[Aim, float | None, float | None], None]


@dataclass(frozen=True)
class Question:
    """What a run is asked: an aim to minimise (None: any plan), at most ``over_db`` over the targets."""

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


class Pursuit:
    """One solve of a site through all its aims, with one clock and one best state."""

    def __init__(
        self,
        site: Site,
        limits: Limits,
        cancel: threading.Event | None = None,
        tell: Tell | None = None,
        start: State | None = None,
        fixed: State | None = None,
    ) -> None:
        self.site, self.limits, self.cancel, self.tell = site, limits, cancel, tell
        self.deadline = time.monotonic() + limits.time_s
        self.start, self.fixed = start, fixed
        self.best: State | None = None
        self.infeasible = False
        self.failed = False
        self.held: list[tuple[Aim, float]] = []
        self.single: frozenset[str] = frozenset()
        self._write()

    def pursue(self, aim: Aim) -> AimResult:
        """Improve one aim and hold what was reached; without any plan the value is infinite."""
        result = self._quietest() if aim is Aim.SOUND else self._least(aim)
        if self.best is not None:
            self.held.append((aim, result.value))
            self.rows.update(self._hold(aim, result.value))
        return result

    def value(self, aim: Aim) -> float:
        """Give the value of an aim for the best state, recomputed by the ledger."""
        if self.best is None:
            return math.inf
        return aim_value(self.site, self.best, ledger(self.site, self.best), aim)

    def _write(self) -> None:
        """Write the model anew with the kinds in ``single`` unit by unit, and what is held so far."""
        self.model: Model = build(prepare(self.site, self.single))
        self.hearing = Hearing(self.model)
        self.rows: dict[str, pulp.LpConstraint] = {}
        if self.fixed is not None:
            values = start_values(self.model, self.fixed)
            variables = [*self.model.on.values(), *self.model.place.values()]
            self.rows.update({f"fixed:{v.name}": v == values[v.name] for v in variables})
        for aim, value in self.held:
            self.rows.update(self._hold(aim, value))
        state = self.best or self.start
        self.values: Mapping[str, float] | None = start_values(self.model, state) if state else None

    def _hold(self, aim: Aim, value: float) -> Mapping[str, pulp.LpConstraint]:
        if aim is Aim.SOUND:
            return self.hearing.rows(value)
        return {f"hold:{aim}": objective(self.model, aim) <= value + HOLD[aim]}

    def _least(self, aim: Aim) -> AimResult:
        answer = self._ask(Question(aim, minimise=True))
        value, proven = self.value(aim), answer.ending is Ending.PROVEN
        bound = min(answer.bound, value) if math.isfinite(answer.bound) else -math.inf
        if proven and value - bound < grain(objective(self.model, aim)):
            bound = value
        return AimResult(aim, value, bound, proven)

    def _quietest(self) -> AimResult:
        """Find the least level by bisection in steps: each level is a question with a proven yes or no."""
        if self._reach(0.0).found:
            return AimResult(Aim.SOUND, self.value(Aim.SOUND), 0.0, True)
        if self.best is None and not self._ask(Question(Aim.SOUND, minimise=False)).found:
            return AimResult(Aim.SOUND, math.inf, 0.0, False)
        refused, reached, sure = 0.0, self.value(Aim.SOUND), True
        while reached - refused > SOUND_STEP_DB + 1e-9:
            steps = round((reached - refused) / SOUND_STEP_DB)
            asked = refused + SOUND_STEP_DB * (steps // 2)
            answer = self._reach(asked)
            if answer.found:
                reached = min(asked, self.value(Aim.SOUND))
            elif answer.ending is Ending.INFEASIBLE:
                refused = asked
            else:
                sure = False
                break
        return AimResult(Aim.SOUND, reached, refused + SOUND_STEP_DB, sure)

    def _reach(self, over_db: float) -> Answer:
        return self._ask(Question(Aim.SOUND, minimise=False, over_db=over_db))

    def _ask(self, question: Question) -> Answer:
        """Put a question until its answer is a state, a proven no, or the clock's."""
        while True:
            answer = self._run(question)
            if not answer.found:
                self._note(answer, question)
                return answer
            realised = realise(self.model, answer.values, self._limits(), self.cancel)
            if realised.state is not None:
                self.best, self.values = realised.state, answer.values
                return answer
            self.single |= realised.unpacked
            self._write()

    def _note(self, answer: Answer, question: Question) -> None:
        if answer.ending is Ending.INFEASIBLE and question.over_db is None:
            self.infeasible = self.best is None
        self.failed = self.failed or answer.ending is Ending.FAILED

    def _run(self, question: Question) -> Answer:
        wanted = objective(self.model, question.aim) if question.minimise else pulp.LpAffineExpression()
        quiet = self.hearing.rows(question.over_db) if question.over_db is not None else {}
        limits = self._limits()
        gap = max(limits.absolute_gap, 0.999 * grain(wanted))
        return run(
            self.model.program,
            wanted,
            replace(limits, absolute_gap=gap),
            extra={**self.rows, **quiet},
            start=self.values,
            cancel=self.cancel,
            watch=self._watch(question.aim),
        )

    def _limits(self) -> Limits:
        return replace(self.limits, time_s=self.deadline - time.monotonic())

    def _watch(self, aim: Aim) -> Callable[[float, float, float], None] | None:
        tell = self.tell
        if tell is None:
            return None
        return lambda best, bound, _: tell(aim, best, bound)
