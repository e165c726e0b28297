"""Plans within limits on the aims that no other plan beats: an aim at a time, from the same model."""

from __future__ import annotations

import math
import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace

from planner.domain.plan import SOUND_STEP_DB, AimResult
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.optimise.lexicographic import Pursuit
from planner.solver import Ending, Limits


@dataclass(frozen=True)
class Within:
    """What was found within limits: a state with the results of the aims, or none and whether that is proven.

    ``results`` are in the order asked for, their values those of the state, their bounds within the limits.
    ``shown_by``: what shows, beside one run of a solver, that there is none.
    """

    state: State | None
    results: tuple[AimResult, ...] = ()
    empty: bool = False
    shown_by: str = ""


class Limited(Pursuit):
    """A pursuit that starts over within other limits, and keeps what it learnt about packing."""

    patience_s = 5.0

    def __init__(
        self,
        site: Site,
        limits: Limits,
        cancel: threading.Event | None = None,
        least_db: float = 0.0,
        previous: State | None = None,
    ) -> None:
        super().__init__(site, limits, cancel, previous=previous)
        self.least_db = least_db
        self.set_out()

    def within(
        self, limits: Mapping[Aim, float], order: tuple[Aim, ...], start: State | None = None
    ) -> Within:
        """Improve aims in an order, each held, among the plans whose aims are at most the limits."""
        self.begin(limits, start)
        results = list[AimResult]()
        self.through(order, results)
        if self.best is None:
            return Within(None, empty=self.infeasible, shown_by=self.no_plan_shown_by)
        return Within(self.best, tuple(self._final(result) for result in results))

    def begin(self, limits: Mapping[Aim, float], start: State | None = None) -> None:
        """Forget what was found and held before, and hold each aim to its limit."""
        self.best, self.start, self.infeasible = None, start, False
        self.held = list(limits.items())
        rows = self.script.rows
        for name in [name for name in rows if name.startswith(("hold:", "sound:"))]:
            del rows[name]
        self.script.most_w = math.inf
        for aim, value in self.held:
            self.script.hold(aim, value)

    def _final(self, result: AimResult) -> AimResult:
        """Give a result with the value of the last state, which a later aim may have made better."""
        value = self.value(result.aim)
        return replace(result, value=value, bound=min(result.bound, value))

    def _quietest(self) -> AimResult:
        """Find the least level from that of the plan at hand downwards, never under ``least_db``."""
        if self.best is None:
            return super()._quietest()
        refused, reached = self.least_db - SOUND_STEP_DB, self.value(Aim.SOUND)
        step, sure = SOUND_STEP_DB, True
        while sure and reached - refused > SOUND_STEP_DB + 1e-9:
            asked = max(refused + SOUND_STEP_DB, reached - step)
            answer = self._reach(asked)
            if answer.found:
                reached, step = min(asked, self.value(Aim.SOUND)), 2.0 * step
            elif answer.ending is Ending.INFEASIBLE:
                refused, step = asked, max(SOUND_STEP_DB, step / 2.0)
            else:
                sure = False
        return AimResult(Aim.SOUND, reached, refused + SOUND_STEP_DB, sure)
