"""A question put to the model until its answer is a state, a proven no, or the clock's.

A question is put to the model with alike units pooled, which is small and leaves no symmetry, and the pools
are packed afterwards. A pool that does not pack teaches a row, or its kind is written out unit by unit, and
the same question is put again; so a yes is always a state, and a no is always proven. Where that is too
large, the question is put with pools squeezed until they pack: a plan, with the bound of the first answer.
"""

from __future__ import annotations

import math
from dataclasses import replace

from planner.domain.rules import Aim
from planner.placement.formulation.failover_rows import written_out
from planner.placement.formulation.question_model import HOLD, Question
from planner.placement.optimise.asking import Asking
from planner.placement.packing.decode import Realised, realise
from planner.solver import Answer, Ending

SQUEEZES = (0.003, 0.01, 0.02, 0.04, 0.08)
"""Shares of the pooled hosts' capacity left out, one after the other, until what a pool holds packs."""

WRITE_OUT = 1200
"""Items times units up to which a kind is written out unit by unit."""

LESSONS = 8
"""Times a question is put again with what packing taught before a kind is written out."""

ROUNDED_SHARE = 0.3
"""Share of the time that a quick look for a good state may take on a large site."""

PACKING_SHARE = 0.5
"""Share of the time left that one attempt at packing may take."""

QUICK_S = 1.0
"""Seconds for the first try at packing a large answer."""


class Answering(Asking):
    """A solve that answers the questions it puts."""

    infeasible = False

    def set_out(self) -> None:
        """Make a first plan where that is quick, and write the model."""
        self.best = self._first() if self.fixed is None else None
        self._write()

    def _ask(self, question: Question) -> Answer:
        """Put a question until its answer is a state, a proven no, or the clock's."""
        if question.aim is Aim.CHANGE and question.minimise:
            self._gather(question)
            self._tell_hosts_apart()
        lessons, floor = 0, -math.inf
        self._begin_question()
        if self._is_large() and question.minimise:
            early = self._early(question)
            if self._settles(question, early):
                return replace(early, ending=Ending.PROVEN)
            floor = early.bound
            self._rounded(question)
        while True:
            answer = self._put(question, floor)
            floor = answer.bound
            if not answer.found:
                self._note(answer, question)
                goes_on = self._is_large() and question.minimise and answer.ending is Ending.EMPTY
                return self._squeezed(question, answer) if goes_on else answer
            if self._settles(question, answer):
                return replace(answer, ending=Ending.PROVEN)
            if self._is_large():
                return self._settle_large(question, answer)
            limits = self._limits()
            by_patterns = self._asks_for_patterns(question, answer)
            packing = replace(limits, time_s=0.0 if by_patterns else limits.time_s * PACKING_SHARE)
            realised = realise(self.model, answer.values, packing, self.cancel)
            if realised.state is not None:
                return self._accept(question, realised.state, answer)
            if by_patterns:
                answer = self._by_patterns(question, answer)
                floor = answer.bound
                if self._settles(question, answer):
                    return replace(answer, ending=Ending.PROVEN)
                continue
            lessons += 1
            if question.minimise and self._is_far(question, floor):
                self._lift(question, answer)
            if lessons == LESSONS // 2 and question.minimise and self._is_far(question, floor):
                self._rounded(question)
            if not self._learn(realised, lessons):
                return self._squeezed(question, answer)

    def _put(self, question: Question, floor: float) -> Answer:
        """Put a question once; the bound is no less than ``floor``, which is known to hold."""
        asks_power = question.minimise and question.aim is Aim.POWER
        if asks_power and self.best is not None and self._holds(self.best):
            self.script.most_w = min(self.script.most_w, self.value(Aim.POWER) + HOLD[Aim.POWER])
        start, watch = self.best or self.start, self._watch(question)
        for _ in range(2):
            answer = self.script.ask(question, self._limits(), start, self.cancel, watch)
            self.ran_out |= answer.ending in (Ending.STOPPED, Ending.EMPTY)
            said = self._contradiction(question, answer)
            if not said:
                return replace(answer, bound=max(floor, answer.bound))
            self.contradictions.append(said)
            self.limits = replace(self.limits, presolve=False)
        return Answer(Ending.EMPTY, {}, math.inf, floor, answer.seconds)

    def _contradiction(self, question: Question, answer: Answer) -> str:
        """Say how an answer contradicts the best plan, which the judge passed; empty where it does not."""
        if self.best is None or not self._holds(self.best):
            return ""
        value = self.value(question.aim)
        if question.minimise and math.isfinite(answer.bound):
            slack = max(HOLD[question.aim], 1e-6 * abs(value))
            over = f"{question.aim}: a run of the solver called at least {answer.bound:.4f} proven"
            return f"{over}, a plan of {value:.4f} was known" if answer.bound > value + slack else ""
        keeps = question.over_db is None or value <= question.over_db + 1e-9
        no = answer.ending is Ending.INFEASIBLE and keeps
        return f"{question.aim}: a run of the solver called impossible what a known plan does" if no else ""

    def _settle_large(self, question: Question, answer: Answer) -> Answer:
        """Pack a large answer quickly, else one in squeezed pools, else the first with more time."""
        limits = self._limits()
        quick = replace(limits, time_s=min(QUICK_S, limits.time_s * PACKING_SHARE))
        realised = realise(self.model, answer.values, quick, self.cancel)
        if realised.state is not None:
            return self._accept(question, realised.state, answer)
        # Where values come in steps patterns can prove; else squeezed pools are as near, and sooner.
        if self.script.grain(question) > 0.0 and self._asks_for_patterns(question, answer):
            answer = self._by_patterns(question, answer)
            if self._settles(question, answer):
                return replace(answer, ending=Ending.PROVEN)
        squeezed = self._squeezed(question, answer)
        if self._limits().time_s <= 0.0 or self._is_near(question, answer):
            return squeezed
        if self._asks_for_patterns(question, answer):
            return replace(squeezed, bound=self._by_patterns(question, answer).bound)
        if question.minimise:
            self._lift(question, answer)
        patience_s = min(self.left_s * PACKING_SHARE, self.limits.time_s - self.left_s)
        realised = realise(self.model, answer.values, replace(limits, time_s=patience_s), self.cancel)
        return squeezed if realised.state is None else self._accept(question, realised.state, answer)

    def _learn(self, realised: Realised, lessons: int) -> bool:
        """Take a lesson from pools that did not pack; False where the question is too large to put again."""
        if realised.lost:
            return self._learn_losses(realised.lost)
        cuts = [cut for item in realised.unpacked for cut in item.cuts()]
        if cuts and lessons <= LESSONS and len(cuts) >= len(realised.unpacked):
            self.cuts += cuts
            self.script.cut(self.cuts)
            return True
        sizes = {item.slot.pool: item.slot.units * len(item.items) for item in realised.unpacked}
        if max(sizes.values()) > WRITE_OUT:
            return False
        self.single |= frozenset(sizes)
        self._write()
        return True

    def _learn_losses(self, lost: tuple[tuple[str, ...], ...]) -> bool:
        """Write hosts out unit by unit, then the losses that do not pack; False where that is too large."""
        single, losses = written_out(self.model, lost, WRITE_OUT)
        if single <= self.single and losses <= self.lost:
            return False
        self.single, self.lost = self.single | single, self.lost | losses
        self._write()
        return True

    def _rounded(self, question: Question) -> None:
        """Look for a good state quickly: settle what the relaxation is sure of, in squeezed pools."""
        for squeeze in SQUEEZES:
            limits = self._limits()
            if limits.time_s <= 0.0:
                return
            limits = replace(limits, time_s=limits.time_s * ROUNDED_SHARE)
            script, watch = self._script(squeeze), self._watch(question, is_for_all=False)
            settled = script.settled(question, limits)
            answer = script.ask(question, limits, None, self.cancel, watch, settled)
            if not answer.found:
                return
            realised = realise(script.model, answer.values, replace(limits, time_s=0.0), self.cancel)
            if realised.state is not None:
                self._accept(question, realised.state, answer)
                return

    def _squeezed(self, question: Question, first: Answer) -> Answer:
        """Answer a question with pools squeezed until they pack; the bound stays that of the first answer."""
        for squeeze in SQUEEZES:
            if self._limits().time_s <= 0.0:
                break
            script, watch = self._script(squeeze), self._watch(question, is_for_all=False)
            answer = script.ask(question, self._limits(), self.best, self.cancel, watch)
            if not answer.found:
                break
            realised = realise(script.model, answer.values, self._limits(), self.cancel)
            if realised.state is not None:
                self._accept(question, realised.state, answer)
                return replace(answer, ending=Ending.STOPPED, bound=first.bound)
        return Answer(Ending.EMPTY, {}, math.inf, first.bound, first.seconds)

    def _note(self, answer: Answer, question: Question) -> None:
        if answer.ending is Ending.INFEASIBLE and question.over_db is None:
            self.infeasible = self.best is None
        if answer.ending is Ending.FAILED:
            self.failure = "a failure of the solver"
