"""The incumbent: the best state of a solve, the aims held so far, and who is told of both."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from planner.domain.plan import aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.physics.heat import NeverSettlesError
from planner.placement.formulation.question_model import Question
from planner.placement.params import PARAMS
from planner.verify import verify_state

Tell = Callable[[Aim, float | None, float | None, State | None], None]
"""Called with an aim, its best value, its bound, and the plan of that value once the judge has passed it."""

Admits = Callable[[State], bool]
"""Whether a state keeps what a solve asks beside the site's rules."""


class Incumbent:
    """The best state, judged by the aims held so far.

    ``previous``: the state from which changes are counted; ``admits``: what is asked beside the rules.
    """

    def __init__(
        self,
        site: Site,
        previous: State | None = None,
        tell: Tell | None = None,
        admits: Admits = lambda _: True,
    ) -> None:
        self.site, self.previous, self.admits = site, previous, admits
        self._tell = tell
        self.best: State | None = None
        self.held: list[tuple[Aim, float]] = []

    @property
    def valid(self) -> State | None:
        """The best state where it keeps what is held, else None."""
        return self.best if self.best is not None and self.holds(self.best) else None

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

    def holds(self, state: State) -> bool:
        """Say whether a state keeps what earlier aims reached."""
        return self.keeps(state, self.held)

    def keeps(self, state: State, held: Sequence[tuple[Aim, float]]) -> bool:
        """Say whether a state is no worse than some values of aims."""
        return all(self.value(aim, state) <= value + PARAMS.near.kept for aim, value in held)

    def passes(self, state: State, held: Sequence[tuple[Aim, float]]) -> bool:
        """Say whether the judge passes a state that keeps some values and all else that is asked."""
        return not verify_state(self.site, state) and self.keeps(state, held) and self.admits(state)

    def accept(self, question: Question, state: State) -> bool:
        """Keep a state that answers a question, unless the best one answers it as well or better.

        False for one that breaks what is held: pools do not see all that changes within them.
        """
        if not self.holds(state):
            return False
        best = self.valid if question.minimise else None
        if best is None or self.value(question.aim, state) < self.value(question.aim, best):
            self.best = state
            self.tell(question.aim)
        return True

    def offer(self, question: Question, state: State | None) -> None:
        """Keep a state where the judge passes it and it is better; any other is no matter."""
        if state is not None and self.holds(state) and not verify_state(self.site, state):
            self.accept(question, state)

    def tell(self, aim: Aim, bound: float | None = None) -> None:
        """Tell a bound, and the value of the best state where it is a plan that keeps what is held."""
        if self._tell is None:
            return
        best = self.valid
        if best is not None and not verify_state(self.site, best):
            self._tell(aim, self.value(aim), bound, best)
        elif bound is not None:
            self._tell(aim, None, bound, None)

    def watch(
        self, question: Question, is_for_all: bool = True
    ) -> Callable[[float, float, float], None] | None:
        """Make what tells how a question goes; its bound only where it holds for all plans."""
        tell = self._tell
        if tell is None or not question.minimise:
            return None

        def heard(best: float, bound: float, _: float) -> None:
            known = bound if is_for_all and math.isfinite(bound) else None
            tell(question.aim, best if math.isfinite(best) else None, known, None)

        return heard

    def is_far(self, question: Question, bound: float) -> bool:
        """Say whether a quickly found state could be much better than the best one."""
        return self.best is None or self.value(question.aim) > bound * PARAMS.strategies.far + 1e-9

    def is_near(self, question: Question, bound: float, relative_gap: float) -> bool:
        """Say whether the best state answers a question within a gap."""
        if self.valid is None:
            return False
        if not question.minimise:
            return question.over_db is None or self.value(Aim.SOUND) <= question.over_db + 1e-9
        value = self.value(question.aim)
        return value - bound <= relative_gap * abs(value)

    def leaves_nothing(self, aim: Aim) -> bool:
        """Say whether the best state leaves nothing of an aim to improve."""
        return self.valid is not None and self.value(aim) <= 0.0
