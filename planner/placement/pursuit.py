"""The aims in the person's order: each is improved to a proof while those before it are held."""

from __future__ import annotations

import math
import time

from planner.milp import Answer, Ending
from planner.placement.answering import Answering
from planner.placement.script import HOLD, Question
from planner.plan import SOUND_STEP_DB, AimResult
from planner.site import Aim

LEFT_SHARE = 0.3
"""Share of the time left that an aim leaves to those that follow."""


class Pursuit(Answering):
    """One solve of a site through all its aims, with one clock and one best state."""

    def pursue(self, aim: Aim, is_last: bool = True) -> AimResult:
        """Improve one aim and hold what was reached; without any plan the value is infinite.

        One that others follow leaves them a part of the time.
        """
        self.until = self.deadline - (0.0 if is_last else LEFT_SHARE * (self.deadline - time.monotonic()))
        self._show(aim)
        result = self._quietest() if aim is Aim.SOUND else self._least(aim)
        if self.best is not None:
            self.held.append((aim, result.value))
            self.script.hold(aim, result.value)
            self._show(aim, result.bound)
        return result

    def _least(self, aim: Aim) -> AimResult:
        if self._already(aim):
            return AimResult(aim, 0.0, 0.0, True)
        question = Question(aim, minimise=True)
        answer = self._ask(question)
        value = self.value(aim)
        bound = max(0.0, min(answer.bound, value)) if math.isfinite(answer.bound) else 0.0
        proven = value - bound <= max(HOLD[aim], 0.999 * self.script.grain(question))
        return AimResult(aim, value, value if proven else bound, proven)

    def _quietest(self) -> AimResult:
        """Find the least level by bisection in steps: each level is a question with a proven yes or no."""
        silent = None if self._already(Aim.SOUND) else self._reach(0.0)
        if silent is None or silent.found:
            return AimResult(Aim.SOUND, self.value(Aim.SOUND), 0.0, True)
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
