"""The budget of a solve: its clock, what an aim and a question get of it, and what stopped the solve."""

from __future__ import annotations

import threading
import time
from dataclasses import replace

from planner.domain.plan import INTERRUPTED, TIME_LIMIT
from planner.placement.params import PARAMS
from planner.solver import Limits

SHARE_USED = "the share of the time that a step of it may take"
NO_MEANS = "the end of its means: no method is left that would settle it"


class Budget:
    """One clock for a solve through all its aims.

    ``is_large``: whether the site is so large that questions are left at a small gap. ``failure``: what
    broke, where something did; ``ran_out``: whether a run was ended by its share of the time.
    """

    def __init__(self, limits: Limits, cancel: threading.Event | None = None, is_large: bool = False) -> None:
        self.limits, self.cancel, self.is_large = limits, cancel, is_large
        self.deadline = self._until = time.monotonic() + limits.time_s
        self.failure, self.ran_out = "", False

    @property
    def left_s(self) -> float:
        """The seconds that are left to the aim in hand."""
        return self._until - time.monotonic()

    @property
    def used_s(self) -> float:
        """The seconds that the aim in hand no longer has."""
        return self.limits.time_s - self.left_s

    def begin_aim(self, *, is_last: bool) -> None:
        """Set the clock for an aim: one that others follow leaves them a part of the time."""
        left_s = self.deadline - time.monotonic()
        self._until = self.deadline - (0.0 if is_last else PARAMS.budget.left_share * left_s)

    def for_question(self) -> Limits:
        """Compute the limits of a question that is put now."""
        if not self.is_large:
            return replace(self.limits, time_s=self.left_s)
        gap = max(self.limits.relative_gap, PARAMS.budget.large_gap)
        return replace(self.limits, time_s=self.left_s * PARAMS.budget.large_share, relative_gap=gap)

    def go_without_presolve(self) -> None:
        """Have all later runs do without the rewriting in which false answers arose."""
        self.limits = replace(self.limits, presolve=False)

    @property
    def is_cancelled(self) -> bool:
        """Whether the person called the solve off."""
        return self.cancel is not None and self.cancel.is_set()

    def stopped_by(self) -> str:
        """Say what ended a solve that has no proof: the person, a failure, the clock, or its own means."""
        if self.is_cancelled:
            return INTERRUPTED
        if self.failure:
            return self.failure
        is_over = time.monotonic() >= self.deadline - max(
            PARAMS.budget.over_s, PARAMS.budget.over_share * self.limits.time_s
        )
        if is_over:
            return TIME_LIMIT
        return SHARE_USED if self.ran_out else NO_MEANS
