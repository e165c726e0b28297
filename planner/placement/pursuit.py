"""The aims in the person's order: each is improved to a proof while those before it are held."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import pulp

from planner.ledger import ledger
from planner.milp import Answer, Ending, Limits, run
from planner.placement.model import Model
from planner.placement.model.aims import objective
from planner.placement.model.hearing import Hearing
from planner.placement.read import read_state
from planner.plan import SOUND_STEP_DB, AimResult, aim_value
from planner.site import Aim
from planner.state import State

HOLD = {Aim.POWER: 1e-4, Aim.COST: 1e-4, Aim.CHANGE: 1e-3}
"""How much of a held aim the next ones may give back, in its own unit: a solver's tolerance, no more."""

Tell = Callable[[Aim, float | None, float | None], None]


@dataclass(frozen=True)
class Found:
    """A solution: the values of all variables and the state they describe."""

    values: Mapping[str, float]
    state: State


class Pursuit:
    """One solve of a model through all its aims, with one clock and one best solution."""

    def __init__(
        self,
        model: Model,
        limits: Limits,
        cancel: threading.Event | None,
        tell: Tell | None,
        extra: Mapping[str, pulp.LpConstraint],
        start: Mapping[str, float] | None,
    ) -> None:
        self.model, self.limits, self.cancel, self.tell = model, limits, cancel, tell
        self.deadline = time.monotonic() + limits.time_s
        self.held: dict[str, pulp.LpConstraint] = dict(extra)
        self.start = start
        self.best: Found | None = None
        self.infeasible = False
        self.failed = False
        self.hearing = Hearing(model)

    def pursue(self, aim: Aim) -> AimResult:
        """Improve one aim and hold what was reached; without any solution the value is infinite."""
        result = self._quietest() if aim is Aim.SOUND else self._least(aim)
        if self.best is not None:
            self._hold(aim, result.value)
        return result

    def value(self, aim: Aim) -> float:
        """Give the value of an aim for the best solution, recomputed from its state by the ledger."""
        if self.best is None:
            return math.inf
        site = self.model.problem.site
        return aim_value(site, self.best.state, ledger(site, self.best.state), aim)

    def _hold(self, aim: Aim, value: float) -> None:
        if aim is Aim.SOUND:
            self.held.update(self.hearing.rows(value))
        else:
            self.held[f"hold:{aim}"] = objective(self.model, aim) <= value + HOLD[aim]

    def _least(self, aim: Aim) -> AimResult:
        answer = self._run(aim, objective(self.model, aim), {})
        value = self.value(aim)
        bound = min(answer.bound, value) if math.isfinite(answer.bound) else -math.inf
        return AimResult(aim, value, bound, answer.ending is Ending.PROVEN)

    def _quietest(self) -> AimResult:
        """Find the least level by bisection in steps: each level is a question with a proven yes or no."""
        nothing = pulp.LpAffineExpression()
        if self._run(Aim.SOUND, nothing, self.hearing.rows(0.0)).found:
            return AimResult(Aim.SOUND, self.value(Aim.SOUND), 0.0, True)
        answer = self._run(Aim.SOUND, nothing, {}) if self.best is None else None
        if answer is not None and not answer.found:
            return AimResult(Aim.SOUND, math.inf, 0.0, False)
        refused, reached, sure = 0.0, self.value(Aim.SOUND), True
        while reached - refused > SOUND_STEP_DB + 1e-9:
            steps = round((reached - refused) / SOUND_STEP_DB)
            asked = refused + SOUND_STEP_DB * (steps // 2)
            answer = self._run(Aim.SOUND, nothing, self.hearing.rows(asked))
            if answer.found:
                reached = min(asked, self.value(Aim.SOUND))
            elif answer.ending is Ending.INFEASIBLE:
                refused = asked
            else:
                sure = False
                break
        return AimResult(Aim.SOUND, reached, refused + SOUND_STEP_DB, sure)

    def _run(
        self, aim: Aim, expression: pulp.LpAffineExpression, rows: Mapping[str, pulp.LpConstraint]
    ) -> Answer:
        answer = run(
            self.model.program,
            expression,
            replace(self.limits, time_s=self.deadline - time.monotonic()),
            extra={**self.held, **rows},
            start=self.best.values if self.best is not None else self.start,
            cancel=self.cancel,
            watch=self._watch(aim),
        )
        if answer.found:
            self.best = Found(answer.values, read_state(self.model, answer.values))
        elif answer.ending is Ending.INFEASIBLE and not rows:
            self.infeasible = self.best is None
        self.failed = self.failed or answer.ending is Ending.FAILED
        return answer

    def _watch(self, aim: Aim) -> Callable[[float, float, float], None] | None:
        tell = self.tell
        if tell is None:
            return None
        return lambda best, bound, _: tell(aim, best, bound)
