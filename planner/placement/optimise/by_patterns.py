"""Strategies that answer a question by column generation, and a greedy packing of what was answered."""

from __future__ import annotations

import math
from dataclasses import replace

from planner.placement.column_generation.pricing import clock
from planner.placement.optimise.context import Asked, Context, Inquiry
from planner.placement.optimise.pattern_question import can_answer, can_answer_first, solve_by_patterns
from planner.placement.packing.decode import decode, decode_with_more_units
from planner.placement.params import PARAMS
from planner.solver import Answer, Ending


def ask_patterns_first(context: Context, inquiry: Inquiry) -> Answer | None:
    """Ask patterns before the pooled model where they are sure to be quick."""
    questions = context.formulation.questions
    asks = questions.grain(inquiry.question) > 0.0 and can_answer_first(context.formulation.model)
    return _ask_patterns(context, inquiry) if asks and inquiry.question.minimise else None


def ask_patterns_of_failed(context: Context, inquiry: Inquiry) -> Answer | None:
    """Ask patterns once the pooled answer did not pack; what they learnt is all there is to learn of it."""
    if inquiry.failed is None or not may_ask_patterns(context, inquiry):
        return None
    inquiry.failed = None
    return _ask_patterns(context, inquiry)


def ask_patterns_if_in_steps(context: Context, inquiry: Inquiry) -> Answer | None:
    """Ask patterns where values come in steps, so that they can prove; else less capacity is sooner."""
    in_steps = context.formulation.questions.grain(inquiry.question) > 0.0
    return _ask_patterns(context, inquiry) if in_steps and may_ask_patterns(context, inquiry) else None


def ask_patterns_last(context: Context, inquiry: Inquiry) -> Answer | None:
    """Ask patterns for a better bound of the answer that there is."""
    if inquiry.tightened is None or not may_ask_patterns(context, inquiry):
        return None
    _ask_patterns(context, inquiry)
    return replace(inquiry.tightened, bound=inquiry.pooled.bound)


def may_ask_patterns(context: Context, inquiry: Inquiry) -> bool:
    """Say whether patterns may answer, and were not asked yet with what is held."""
    question, answer = inquiry.question, inquiry.pooled
    asked = _asked(context, inquiry) in context.asked_by_patterns
    return question.minimise and answer.found and not asked and can_answer(context.formulation.model, answer)


def _asked(context: Context, inquiry: Inquiry) -> Asked:
    return inquiry.question, tuple(context.incumbent.held)


def _ask_patterns(context: Context, inquiry: Inquiry) -> Answer | None:
    """Solve by patterns: keep states that are found and what pools learn, raise the bound."""
    context.asked_by_patterns.add(_asked(context, inquiry))
    question, incumbent, budget = inquiry.question, context.incumbent, context.budget
    offer_with_more_units(context, inquiry)
    limits = replace(budget.for_question(), time_s=budget.left_s * PARAMS.strategies.pattern_share)
    good = incumbent.value(question.aim) if incumbent.valid is not None else math.inf
    model, bound = context.formulation.questions, inquiry.pooled.bound
    for found in solve_by_patterns(model, question, good, incumbent.best, limits, budget.cancel):
        bound = max(bound, found.bound)
        if found.values:
            done = replace(limits, time_s=0.0)
            incumbent.offer(
                question, decode(model.model, found.values, done, budget.cancel, found.units).state
            )
        incumbent.tell(question.aim, bound if math.isfinite(bound) else None)
    inquiry.pooled, inquiry.by_patterns = replace(inquiry.pooled, bound=bound), True
    inquiry.shown = max(inquiry.shown, found.shown)
    if found.bound >= bound:
        inquiry.claim = found.claim
    context.formulation.add_cuts(found.cuts)
    return replace(inquiry.pooled, ending=Ending.PROVEN) if context.settles(inquiry) else None


def offer_with_more_units(context: Context, inquiry: Inquiry) -> None:
    """Offer the state that the pooled answer becomes with as many units as a greedy packing needs."""
    if not inquiry.question.minimise or not inquiry.pooled.values:
        return
    stop = clock(context.budget.for_question(), context.budget.cancel)
    model, limits = context.formulation.model, context.budget.limits
    context.incumbent.offer(
        inquiry.question, decode_with_more_units(model, inquiry.pooled.values, limits, stop)
    )
