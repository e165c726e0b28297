"""Questions that patterns answer, put to the model as it is written now."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from dataclasses import replace

from planner.domain.plan import places
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.column_generation.pricing import clock
from planner.placement.formulation import Model
from planner.placement.formulation.packing_cuts import Cut
from planner.placement.formulation.problem import Loss, pools_of_boxes
from planner.placement.formulation.question_model import HOLD, Learnt, Question, Script
from planner.placement.optimise.incumbent import Reached, Tell
from planner.placement.optimise.mended_plan import mended
from planner.placement.optimise.pattern_question import few_a_unit, few_in_steps, join
from planner.placement.packing.decode import lifted, realise
from planner.solver import Answer, Ending, Limits
from planner.solver.confirm import Claim
from planner.verify import verify_state

PATTERN_SHARE = 0.85
"""Share of the time left in which a question is answered by patterns."""


TOLD_APART = 6000
"""Items times boxes up to which boxes that were hosts are told apart to count changes."""


class Asking(Reached):
    """A solve's model, with what is held and learnt, and what patterns answer of its questions."""

    tells_boxes_apart = False
    """Whether it matters from the start which of several alike boxes are re-used."""

    def __init__(
        self,
        site: Site,
        limits: Limits,
        cancel: threading.Event | None = None,
        tell: Tell | None = None,
        start: State | None = None,
        fixed: State | None = None,
        previous: State | None = None,
    ) -> None:
        super().__init__(site, limits, cancel, tell, start, previous)
        self.fixed = fixed
        self.cuts: list[Cut] = []
        self.joined: set[tuple[Question, tuple[tuple[Aim, float], ...]]] = set()
        tells_boxes_apart = self.tells_boxes_apart or fixed is not None
        self.single = pools_of_boxes(site, previous) if tells_boxes_apart else frozenset[str]()
        self.lost: frozenset[Loss] = frozenset()
        self.learnt = Learnt()
        self.contradictions: list[str] = []
        self._begin_question()

    def _begin_question(self) -> None:
        """Forget what showed the bound of the question before."""
        self.sure_bound, self.by_patterns = -math.inf, False
        self.pattern_claim: Callable[[], Claim] | None = None

    @property
    def model(self) -> Model:
        """The model as it is written now."""
        return self.script.model

    def _write(self) -> None:
        """Write the model anew with the kinds in ``single`` unit by unit, and all that is held and learnt."""
        self.script = self._script(0.0)

    def _gather(self, question: Question) -> None:
        """Keep the best decisions with who is where as in the earlier plan, where that changes less."""
        if self.best is not None and self.previous is not None:
            state = mended(self.site, self.previous, self.best)
            if not verify_state(self.site, state) and self._holds(state) and self._admits(state):
                self._accept(question, state, Answer(Ending.EMPTY, {}, math.inf, -math.inf, 0.0))

    def _admits(self, state: State) -> bool:
        """Say whether a state keeps what is asked beside the site's rules: services fixed to their places."""
        if self.fixed is None:
            return True
        there, asked = places(state), places(self.fixed)
        return all(there.get(name) == place for name, place in asked.items())

    def _tell_hosts_apart(self) -> None:
        """Write alike boxes one by one that an earlier plan made hosts: what moves between them is a change.

        Where that is too large they stay pooled, which bounds the changes still.
        """
        problem = self.model.problem
        hosts = [slot for slot in problem.slots if slot.alike is not None and slot.alike.were_hosts]
        if hosts and sum(slot.units * len(problem.items_of(slot)) for slot in hosts) <= TOLD_APART:
            self.single |= {slot.pool for slot in hosts}
            self._write()

    def _script(self, squeeze: float) -> Script:
        return Script(
            self.site,
            self.single,
            squeeze,
            self.held,
            self.cuts,
            self.fixed,
            self.previous,
            self.lost,
            self.learnt,
        )

    def _asks_for_patterns(self, question: Question, answer: Answer) -> bool:
        """Say whether patterns may answer a question, and were not asked yet with what is held."""
        asked = (question, tuple(self.held)) in self.joined
        return question.minimise and not asked and few_a_unit(self.model, answer)

    def _early(self, question: Question) -> Answer:
        """Answer a question by patterns alone where they are sure to be quick; else nothing is known."""
        unknown = Answer(Ending.EMPTY, {}, math.inf, -math.inf, 0.0)
        asks = self.script.grain(question) > 0.0 and few_in_steps(self.model)
        return self._by_patterns(question, unknown) if asks else unknown

    def _by_patterns(self, question: Question, answer: Answer) -> Answer:
        """Answer a question by patterns: keep states that are found and what pools learn, raise the bound."""
        self.joined.add((question, tuple(self.held)))
        if answer.values:
            self._lift(question, answer)
        limits = replace(self._limits(), time_s=self.left_s * PATTERN_SHARE)
        good = self.value(question.aim) if self.best is not None and self._holds(self.best) else math.inf
        for joined in join(self.script, question, good, self.best, limits, self.cancel):
            answer = replace(answer, bound=max(answer.bound, joined.bound))
            if joined.values:
                done = replace(limits, time_s=0.0)
                state = realise(self.model, joined.values, done, self.cancel, joined.units).state
                if state is not None and not verify_state(self.site, state) and self._holds(state):
                    self._accept(question, state, answer)
            self._show(question.aim, answer.bound if math.isfinite(answer.bound) else None)
        self.sure_bound = max(self.sure_bound, joined.shown)
        self.by_patterns = True
        if joined.bound >= answer.bound:
            self.pattern_claim = joined.claim
        self.cuts += joined.cuts
        self.script.cut(self.cuts)
        return answer

    def _lift(self, question: Question, answer: Answer) -> None:
        """Keep the state that an answer becomes with as many units as packing needs, where it is better."""
        stop = clock(self._limits(), self.cancel)
        state = lifted(self.model, answer.values, self.limits, stop)
        if state is not None and self._holds(state) and not verify_state(self.site, state):
            self._accept(question, state, answer)

    def _settles(self, question: Question, answer: Answer) -> bool:
        """Say whether an answer about pools, whose bound holds for all plans, proves the best state."""
        if not question.minimise or self.best is None or not self._holds(self.best):
            return False
        gap = self.value(question.aim) - answer.bound
        return gap <= max(HOLD[question.aim], 0.999 * self.script.grain(question))
