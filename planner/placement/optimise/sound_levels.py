"""The least level over the targets, in steps: each level asked for is a question with a proven yes or no."""

from __future__ import annotations

import math

from planner.domain.plan import SOUND_STEP_DB, AimResult
from planner.domain.rules import Aim
from planner.placement.formulation.question_model import Question
from planner.placement.optimise.context import Context, Inquiry
from planner.placement.optimise.proofs import ZERO
from planner.placement.optimise.strategies import answer_question
from planner.solver import Answer, Ending


def bisect_levels(context: Context) -> AimResult:
    """Search for the least level by bisection between silence and the level of the plan at hand."""
    incumbent = context.incumbent
    silent = None if incumbent.leaves_nothing(Aim.SOUND) else _ask_level(context, 0.0)
    if silent is None or silent.found:
        return AimResult(Aim.SOUND, incumbent.value(Aim.SOUND), 0.0, True, ZERO)
    if incumbent.best is None:
        any_plan = answer_question(context, Inquiry(Question(Aim.SOUND, minimise=False)))
        if not any_plan.found:
            return AimResult(Aim.SOUND, math.inf, 0.0, False)
    reached, refused = incumbent.value(Aim.SOUND), 0.0
    if silent.ending is not Ending.INFEASIBLE:
        refused -= SOUND_STEP_DB
    while reached - refused > SOUND_STEP_DB + 1e-9:
        steps = round((reached - refused) / SOUND_STEP_DB)
        asked = refused + SOUND_STEP_DB * (steps // 2)
        answer = _ask_level(context, asked)
        if answer.found:
            reached = min(asked, incumbent.value(Aim.SOUND))
        elif answer.ending is not Ending.INFEASIBLE:
            return AimResult(Aim.SOUND, reached, refused + SOUND_STEP_DB, False)
        else:
            refused = asked
        incumbent.tell(Aim.SOUND, refused + SOUND_STEP_DB)
    return AimResult(Aim.SOUND, reached, refused + SOUND_STEP_DB, True)


def descend_levels(context: Context, least_db: float) -> AimResult:
    """Search for the least level from that of the plan at hand downwards, never under ``least_db``."""
    incumbent = context.incumbent
    if incumbent.best is None:
        return bisect_levels(context)
    refused, reached = least_db - SOUND_STEP_DB, incumbent.value(Aim.SOUND)
    step, sure = SOUND_STEP_DB, True
    while sure and reached - refused > SOUND_STEP_DB + 1e-9:
        asked = max(refused + SOUND_STEP_DB, reached - step)
        answer = _ask_level(context, asked)
        if answer.found:
            reached, step = min(asked, incumbent.value(Aim.SOUND)), 2.0 * step
        elif answer.ending is Ending.INFEASIBLE:
            refused, step = asked, max(SOUND_STEP_DB, step / 2.0)
        else:
            sure = False
    return AimResult(Aim.SOUND, reached, refused + SOUND_STEP_DB, sure)


def _ask_level(context: Context, over_db: float) -> Answer:
    return answer_question(context, Inquiry(Question(Aim.SOUND, minimise=False, over_db=over_db)))
