"""What a solve has reached: the best state so far, the aims held, and the time that is left."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import replace

from planner.domain.plan import aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.physics.heat import NeverSettlesError
from planner.placement.formulation.question_model import Question
from planner.placement.optimise.initial_plan import construct
from planner.solver import Answer, Ending, Limits
from planner.verify import verify_state

LARGE = 150
"""Items from which a question is left at a small gap, and gets a share of the time that is left."""

LARGE_GAP, LARGE_SHARE = 5e-4, 0.5

FAR = 1.005
"""A best state within this factor of the bound is near enough to go straight for the proof."""

OVER_S, OVER_SHARE = 0.2, 0.02
"""Seconds, or share of the time, so near the end of which a solve has used its time."""

SHARE_USED = "the share of the time that a step of it may take"
NO_MEANS = "the end of its means: no method is left that would settle it"

Tell = Callable[[Aim, float | None, float | None, State | None], None]
"""Called with an aim, its best value, its bound, and the plan of that value once the judge has passed it."""


class Reached:
    """The best state of a solve, judged by the aims held so far."""

    failure = ""
    ran_out = False

    def __init__(
        self,
        site: Site,
        limits: Limits,
        cancel: threading.Event | None = None,
        tell: Tell | None = None,
        start: State | None = None,
        previous: State | None = None,
    ) -> None:
        self.site, self.limits, self.cancel, self.tell = site, limits, cancel, tell
        self.deadline = self.until = time.monotonic() + limits.time_s
        self.start, self.previous = start, previous
        self.best: State | None = None
        self.held: list[tuple[Aim, float]] = []

    def value(self, aim: Aim, state: State | None = None) -> float:
        """Compute the value of an aim for a state (the best one); infinite where its room never settles."""
        state = state or self.best
        if state is None:
            return math.inf
        try:
            book = ledger(self.site, state)
        except NeverSettlesError:
            return math.inf
        return aim_value(self.site, state, book, aim, self.previous)

    def _first(self) -> State | None:
        """Give the start where it is a plan, else one that is quickly made where solving takes longer."""
        if self.start is not None and not verify_state(self.site, self.start):
            return self.start
        quick = self.start is not None and not self._is_large()
        return None if quick else construct(self.site, self.limits.seed, self.previous)

    def _accept(self, question: Question, state: State, answer: Answer) -> Answer:
        """Keep a state that answers a question, unless the best one answers it as well or better.

        One that breaks what is held is no answer: pools do not see all that changes within them.
        """
        best = self.best
        if not self._holds(state):
            return replace(answer, ending=Ending.EMPTY, values={})
        keeps = question.minimise and best is not None and self._holds(best)
        if not keeps or self.value(question.aim, state) < self.value(question.aim, best):
            self.best = state
            self._show(question.aim)
        return answer

    def _show(self, aim: Aim, bound: float | None = None) -> None:
        """Tell a bound, and the value of the best state where it is a plan that keeps what is held."""
        if self.tell is None:
            return
        if self.best is not None and self._holds(self.best) and not verify_state(self.site, self.best):
            self.tell(aim, self.value(aim), bound, self.best)
        elif bound is not None:
            self.tell(aim, None, bound, None)

    def _is_far(self, question: Question, floor: float) -> bool:
        """Say whether a quickly found state could be much better than the best one."""
        return self.best is None or self.value(question.aim) > floor * FAR + 1e-9

    def _is_near(self, question: Question, answer: Answer) -> bool:
        """Say whether the best state answers a question as nearly as a large one is asked."""
        if self.best is None or not self._holds(self.best):
            return False
        if not question.minimise:
            return question.over_db is None or self.value(Aim.SOUND) <= question.over_db + 1e-9
        value = self.value(question.aim)
        return value - answer.bound <= self._limits().relative_gap * abs(value)

    def _already(self, aim: Aim) -> bool:
        """Say whether the best state leaves nothing of an aim to improve."""
        return self.best is not None and self._holds(self.best) and self.value(aim) <= 0.0

    def _holds(self, state: State) -> bool:
        """Say whether a state keeps what earlier aims reached."""
        return self._keeps(state, self.held)

    def _keeps(self, state: State, held: Sequence[tuple[Aim, float]]) -> bool:
        return all(self.value(aim, state) <= value + 1e-3 for aim, value in held)

    def stopped_by(self) -> str:
        """Say what ended a solve that has no proof: the person, a failure, the clock, or its own means."""
        if self.cancel is not None and self.cancel.is_set():
            return "interrupted"
        if self.failure:
            return self.failure
        is_over = time.monotonic() >= self.deadline - max(OVER_S, OVER_SHARE * self.limits.time_s)
        if is_over:
            return "time limit"
        return SHARE_USED if self.ran_out else NO_MEANS

    @property
    def left_s(self) -> float:
        """The seconds that are left to the aim in hand."""
        return self.until - time.monotonic()

    def _limits(self) -> Limits:
        if not self._is_large():
            return replace(self.limits, time_s=self.left_s)
        gap = max(self.limits.relative_gap, LARGE_GAP)
        return replace(self.limits, time_s=self.left_s * LARGE_SHARE, relative_gap=gap)

    def _is_large(self) -> bool:
        return len(self.site.services) >= LARGE

    def _watch(
        self, question: Question, is_for_all: bool = True
    ) -> Callable[[float, float, float], None] | None:
        """Give what tells how a question goes; its bound only where it holds for all plans."""
        tell = self.tell
        if tell is None or not question.minimise:
            return None

        def heard(best: float, bound: float, _: float) -> None:
            known = bound if is_for_all and math.isfinite(bound) else None
            tell(question.aim, best if math.isfinite(best) else None, known, None)

        return heard
