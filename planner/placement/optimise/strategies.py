"""How a question is answered: the strategies in the order in which they are tried.

A question is put to the model with alike units pooled, which is small and leaves no symmetry, and the pools
are packed afterwards. A pool that does not pack teaches a cut, or its kind is written out unit by unit, and
the same question is put again; so a yes is always a state, and a no is always proven. Where that is too
large, the question is put with less capacity until its pools pack: a plan, with the bound of the pooled
model.

Why so: a large answer is packed quickly, else asked for again at tightened capacity, and only then packed
patiently. The tightened plan is within 0.1 % and comes in seconds; the patient packing took most of the
time and often found nothing.
"""

from __future__ import annotations

import math
from dataclasses import replace

from planner.domain.rules import Aim
from planner.domain.state import State
from planner.placement.formulation.question_model import HOLD, Question
from planner.placement.optimise.by_patterns import (
    ask_patterns_first,
    ask_patterns_if_in_steps,
    ask_patterns_last,
    ask_patterns_of_failed,
    may_ask_patterns,
    offer_with_more_units,
)
from planner.placement.optimise.context import Context, Inquiry, Strategies
from planner.placement.optimise.plan_repair import mend_plan
from planner.placement.packing.decode import decode
from planner.placement.params import PARAMS
from planner.solver import Answer, Ending


def answer_question(context: Context, inquiry: Inquiry) -> Answer:
    """Solve a question until its answer is a state, a proven no, or the clock's."""
    strategies = context.strategies or (LARGE_SITE if context.budget.is_large else SMALL_SITE)
    for strategy in strategies.once:
        answer = strategy(context, inquiry)
        if answer is not None:
            return answer
    while True:
        for strategy in strategies.rounds:
            answer = strategy(context, inquiry)
            if answer is not None:
                return answer


def keep_earlier_places(context: Context, inquiry: Inquiry) -> None:
    """Keep the best decisions with who is where as in the earlier plan, where that changes less."""
    incumbent = context.incumbent
    best, previous = incumbent.best, incumbent.previous
    if _counts_changes(inquiry.question) and best is not None and previous is not None:
        state = mend_plan(context.site, previous, best)
        if incumbent.passes(state, incumbent.held):
            incumbent.accept(inquiry.question, state)


def tell_hosts_apart(context: Context, inquiry: Inquiry) -> None:
    """Disaggregate alike boxes that an earlier plan made hosts, where changes are counted."""
    if _counts_changes(inquiry.question):
        context.formulation.tell_hosts_apart(context.incumbent.held)


def _counts_changes(question: Question) -> bool:
    return question.aim is Aim.CHANGE and question.minimise


def relax_and_fix(context: Context, inquiry: Inquiry) -> None:
    """Search for a good state quickly: fix what the relaxation is sure of, at tightened capacity."""
    question, incumbent, budget = inquiry.question, context.incumbent, context.budget
    for share in PARAMS.strategies.squeezes if question.minimise else ():
        limits = budget.for_question()
        if limits.time_s <= 0.0:
            return
        limits = replace(limits, time_s=limits.time_s * PARAMS.strategies.relax_and_fix_share)
        model = context.formulation.tightened(share, incumbent.held)
        watch = incumbent.watch(question, is_for_all=False)
        fixed = model.fixed_by_relaxation(question, limits)
        answer = model.ask(question, limits, None, budget.cancel, watch, fixed)
        if not answer.found:
            return
        decoded = decode(model.model, answer.values, replace(limits, time_s=0.0), budget.cancel)
        if decoded.state is not None:
            incumbent.accept(question, decoded.state)
            return


def solve_pooled(context: Context, inquiry: Inquiry) -> Answer | None:
    """Put the question to the pooled model; a no ends it, and so does a bound that the best state has."""
    question = inquiry.question
    answer = inquiry.pooled = _ask_pooled(context, inquiry)
    if answer.found:
        return replace(answer, ending=Ending.PROVEN) if context.settles(inquiry) else None
    if answer.ending is Ending.INFEASIBLE and question.over_db is None:
        context.infeasible = context.incumbent.best is None
    if answer.ending is Ending.FAILED:
        context.budget.failure = "a failure of the solver"
    goes_on = context.budget.is_large and question.minimise and answer.ending is Ending.EMPTY
    return None if goes_on else answer


def _ask_pooled(context: Context, inquiry: Inquiry) -> Answer:
    """Put a question once, anew without presolve where the answer contradicts a plan that is known."""
    question, floor = inquiry.question, inquiry.pooled.bound
    incumbent, budget, model = context.incumbent, context.budget, context.formulation.questions
    if question.minimise and question.aim is Aim.POWER and incumbent.valid is not None:
        model.most_w = min(model.most_w, incumbent.value(Aim.POWER) + HOLD[Aim.POWER])
    start, watch = incumbent.best or context.start, incumbent.watch(question)
    for _ in range(2):
        answer = model.ask(question, budget.for_question(), start, budget.cancel, watch)
        budget.ran_out |= answer.ending in (Ending.STOPPED, Ending.EMPTY)
        said = _contradiction(context, question, answer)
        if not said:
            return replace(answer, bound=max(floor, answer.bound))
        context.contradictions.append(said)
        budget.go_without_presolve()
    return Answer(Ending.EMPTY, {}, math.inf, floor, answer.seconds)


def _contradiction(context: Context, question: Question, answer: Answer) -> str:
    """Say how an answer contradicts the best plan, which the judge passed; empty where it does not."""
    if context.incumbent.valid is None:
        return ""
    value = context.incumbent.value(question.aim)
    if question.minimise and math.isfinite(answer.bound):
        slack = max(HOLD[question.aim], 1e-6 * abs(value))
        over = f"{question.aim}: a run of the solver called at least {answer.bound:.4f} proven"
        return f"{over}, a plan of {value:.4f} was known" if answer.bound > value + slack else ""
    keeps = question.over_db is None or value <= question.over_db + 1e-9
    no = answer.ending is Ending.INFEASIBLE and keeps
    return f"{question.aim}: a run of the solver called impossible what a known plan does" if no else ""


def pack(context: Context, inquiry: Inquiry) -> Answer | None:
    """Pack the pools of the pooled answer: quickly where patterns can say more, else with half the time."""
    limits = context.budget.for_question()
    asks = may_ask_patterns(context, inquiry)
    return _pack(context, inquiry, 0.0 if asks else limits.time_s * PARAMS.strategies.packing_share)


def pack_quickly(context: Context, inquiry: Inquiry) -> Answer | None:
    """Pack the pools of a large answer greedily and by tabu repair, whose work is counted, not timed."""
    return _pack(context, inquiry, 0.0)


def pack_patiently(context: Context, inquiry: Inquiry) -> Answer | None:
    """Pack the pools of a large answer with as much time as was used by now; else take the tightened one."""
    offer_with_more_units(context, inquiry)
    budget = context.budget
    time_s = min(budget.left_s * PARAMS.strategies.packing_share, budget.used_s)
    return _pack(context, inquiry, time_s) or inquiry.tightened


def _pack(context: Context, inquiry: Inquiry, time_s: float) -> Answer | None:
    """Decode the pooled answer; its state is the answer to the question, unless that breaks what is held."""
    if not inquiry.pooled.found:
        return None
    budget = context.budget
    limits = replace(budget.for_question(), time_s=time_s)
    decoded = decode(context.formulation.model, inquiry.pooled.values, limits, budget.cancel)
    inquiry.failed = None if decoded.state is not None else decoded
    return None if decoded.state is None else _accepted(context, inquiry, decoded.state)


def _accepted(context: Context, inquiry: Inquiry, state: State) -> Answer:
    """Offer the state of the pooled answer; one that breaks what is held is no answer."""
    if context.incumbent.accept(inquiry.question, state):
        return inquiry.pooled
    return replace(inquiry.pooled, ending=Ending.EMPTY, values={})


def look_for_better_states(context: Context, inquiry: Inquiry) -> None:
    """Search for good states between lessons, while the best one is far from the bound."""
    if inquiry.failed is None:
        return
    inquiry.lessons += 1
    question, bound = inquiry.question, inquiry.pooled.bound
    if question.minimise and context.incumbent.is_far(question, bound):
        offer_with_more_units(context, inquiry)
    is_time = inquiry.lessons == PARAMS.strategies.relax_and_fix_lesson
    if is_time and question.minimise and context.incumbent.is_far(question, bound):
        relax_and_fix(context, inquiry)


def learn_from_failed_packing(context: Context, inquiry: Inquiry) -> None:
    """Add cuts for what did not pack, or write it out unit by unit; the question is put again then."""
    failed = inquiry.failed
    if failed is not None and context.formulation.learn(failed, inquiry.lessons, context.incumbent.held):
        inquiry.failed = None


def tighten_capacity(context: Context, inquiry: Inquiry) -> Answer | None:
    """Solve with less and less capacity until the pools pack; the bound stays that of the pooled model."""
    return None if inquiry.failed is None else _tightened(context, inquiry)


def tighten_capacity_first(context: Context, inquiry: Inquiry) -> Answer | None:
    """Solve with less capacity; goes on where there is time and the answer is not near its bound."""
    answer = inquiry.tightened = _tightened(context, inquiry)
    limits = context.budget.for_question()
    is_near = context.incumbent.is_near(inquiry.question, inquiry.pooled.bound, limits.relative_gap)
    return answer if not inquiry.pooled.found or limits.time_s <= 0.0 or is_near else None


def _tightened(context: Context, inquiry: Inquiry) -> Answer:
    question, incumbent, budget, first = inquiry.question, context.incumbent, context.budget, inquiry.pooled
    for share in PARAMS.strategies.squeezes:
        if budget.for_question().time_s <= 0.0:
            break
        model = context.formulation.tightened(share, incumbent.held)
        watch = incumbent.watch(question, is_for_all=False)
        answer = model.ask(question, budget.for_question(), incumbent.best, budget.cancel, watch)
        if not answer.found:
            break
        state = decode(model.model, answer.values, budget.for_question(), budget.cancel).state
        if state is not None:
            incumbent.accept(question, state)
            return replace(answer, ending=Ending.STOPPED, bound=first.bound)
    return Answer(Ending.EMPTY, {}, math.inf, first.bound, first.seconds)


SMALL_SITE = Strategies(
    once=(keep_earlier_places, tell_hosts_apart),
    rounds=(
        solve_pooled,
        pack,
        ask_patterns_of_failed,
        look_for_better_states,
        learn_from_failed_packing,
        tighten_capacity,
    ),
)
"""Rounds go on until the pooled answer packs or is proven; capacity is tightened once nothing is learnt."""

LARGE_SITE = Strategies(
    once=(keep_earlier_places, tell_hosts_apart, ask_patterns_first, relax_and_fix),
    rounds=(
        solve_pooled,
        pack_quickly,
        ask_patterns_if_in_steps,
        tighten_capacity_first,
        ask_patterns_last,
        pack_patiently,
    ),
)
"""One round, which ends with the tightened answer at the latest."""
