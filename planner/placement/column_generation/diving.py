"""Whole answers from patterns: dives that take one after another, neighbourhoods, all with a chance.

Why so: where values come in steps, the least value that is possible is looked for first. An answer of the
bound takes only patterns within the small gap between bound and relaxation, hundreds where an answer one
step better than the plan takes ten thousands. A no raises the bound by a step. What a unit costs over its
items counts the reduced costs of its pool's variables and the rows of units and items of one pool
(`pool_rows`), else a pool that is not used seems to be free.

Tried and left: whole-number programmes over more than 20,000 patterns. They do not look at the clock
(54,000: 190 s at a limit of 15 s), so they are not begun.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from planner.placement.column_generation.arc_flow_model import ArcFlowModel
from planner.placement.column_generation.columns import Column
from planner.placement.column_generation.pricing import Prices
from planner.placement.column_generation.restricted_master import RestrictedMaster
from planner.placement.params import PARAMS, DivingParams
from planner.solver import Answer, Ending, Limits
from planner.solver.confirm import Claim

Taken = list[tuple[int, Column]]
"""Columns taken: the pool of each, and the classes of the items on it."""

Found = tuple[Answer, Taken]
"""An answer, and the columns that it takes where it is a solution."""


class Diver:
    """Looks for better and better answers of a master, until its bound is reached or proven."""

    def __init__(self, master: RestrictedMaster, params: DivingParams = PARAMS.diving) -> None:
        self.master, self.columns, self.params = master, master.columns, params
        self.rng = np.random.default_rng(master.limits.seed)
        self.look = 0 if master.spent < params.quick_share else params.late_turn
        self.step = max(1e-4, 0.5 * master.grain)
        self.open: set[tuple[float, float]] = set()

    def solutions(self) -> Iterator[Found]:
        """Search for better and better answers; where none better is possible, the bound says so."""
        master, params, taken = self.master, self.params, Taken()
        if master.spent < params.first_share:
            yield from self._raise_by_steps(params.fewest_patterns, params.look_s)
        for turn in range(params.turns):
            if self._is_over():
                return
            below = master.good - self.step
            dives = not taken or turn % (1 + params.neighbourhoods) == 0
            found = self._dive(below) if dives else self._search_neighbourhood(taken, below)
            if found[0].found:
                master.good, taken = found[0].objective, found[1]
                yield found
            again = master.closed and found[0].found
            if (again or turn == self.look) and not self._is_over():
                yield from self._search_all(params.few_patterns, params.look_s)
        if not self._is_over():
            yield from self._search_all(params.many_patterns, math.inf)

    def _is_over(self) -> bool:
        return self.master.stop() or self.master.bound > self.master.good - self.step

    def _target(self) -> float:
        return self.master.bound + 1e-6 * (1.0 + abs(self.master.bound))

    def _dive(self, below: float) -> Found:
        """Take patterns for good while a value of ``below`` is in reach, then solve for the rest.

        Where it ends over the bound, some of those taken while that was in reach are let go again.
        """
        taken, sure = list[int](), 0
        while not self.master.stop():
            priced = self.master.improve(self.params.rounds if taken else 1)
            if priced is None or priced.value > below:
                break
            sure = len(taken) if priced.value <= self._target() else sure
            chosen = self._chosen(priced.used, set(taken))
            if not chosen:
                break
            self.columns.fix(chosen, True)
            taken += chosen
        self.columns.fix(taken, False)
        first = self._solve_rest(taken, below)
        if first[0].found and first[0].objective <= self._target():
            return first
        kept = taken[: int(self.params.kept_share * sure)]
        second = self._solve_rest(kept, min(below, first[0].objective - self.step))
        return second if second[0].found else first

    def _chosen(self, used: Prices, taken: set[int]) -> list[int]:
        """Choose the columns to take next: those used whole, and one of the fullest others."""
        free = [index for index in np.flatnonzero(used > 1e-6).tolist() if index not in taken]
        whole = [index for index in free if used[index] > 1.0 - 1e-6]
        others = sorted(
            (index for index in free if used[index] <= 1.0 - 1e-6), key=lambda index: -used[index]
        )
        if not others:
            return []
        return [*whole, others[min(int(self.rng.geometric(0.8)) - 1, len(others) - 1)]]

    def _search_neighbourhood(self, taken: Taken, below: float) -> Found:
        """Let some columns of a solution go and solve for what they held."""
        free = set(self.rng.permutation(len(taken))[: self.params.freed].tolist())
        numbers = {column: number for number, column in enumerate(self.columns.columns)}
        kept = [numbers[column] for at, column in enumerate(taken) if at not in free]
        self.columns.fix(kept, True)
        self.master.improve(self.params.rounds)
        return self._solve_rest(kept, below)

    def _solve_rest(self, taken: Sequence[int], below: float) -> Found:
        """Solve in whole numbers with some columns taken."""
        self.columns.fix(taken, True)
        limits = self._limits(self.params.rest_s, self._target())
        found = self.columns.solve_integer(limits, below, self.master.cancel)
        self.columns.fix(taken, False)
        return found

    def _search_all(self, most: int, seconds: float) -> Iterator[Found]:
        """Look for the least value that is possible and the next ones, then for any that is better."""
        master = self.master
        yield from self._raise_by_steps(most, seconds)
        if not self._is_over() and math.isfinite(master.good):
            below = master.good - self.step
            value = below if master.grain <= 0.0 else master.good - master.grain
            found = self._solve_within_gap(value, below, most, seconds)
            if found is not None and found[0].found:
                yield found

    def _raise_by_steps(self, most: int, seconds: float) -> Iterator[Found]:
        """Look for the least value that is possible; a no raises the bound, and the next one is looked for.

        The nearer a value is to the relaxation, the fewer patterns have a chance of it.
        """
        master = self.master
        master.generate_all()
        while master.grain > 0.0 and not self._is_over() and (master.bound, seconds) not in self.open:
            value = master.bound
            found = self._solve_within_gap(value, value + self.step, most, seconds)
            if found is None:
                return
            self.open.add((value, seconds))
            if found[0].found:
                yield found

    def _solve_within_gap(self, value: float, below: float, most: int, seconds: float) -> Found | None:
        """Solve over all that has a chance of a value: patterns where they are few, else the arc-flow model.

        A no is proven then. What the relaxation takes whole is taken at first, for that is quick.

        ``below``: over the value, and under the next one that is possible.
        """
        master = self.master
        priced = master.generate_all()
        if priced is None or not master.closed or priced.value > below:
            return None
        chances = master.patterns_within_gap(priced, value, most)
        quick_s = min(seconds, self.params.rest_s if chances is None else self.params.quick_s)
        found = self._solve_arc_flow(master.arc_flow(priced, value, rounded=True), below, quick_s)
        if found is None or not found[0].found:
            if chances is None:
                arc_flow = master.arc_flow(priced, value)
                found = self._solve_arc_flow(arc_flow, below, seconds)
                claim = arc_flow.claim if arc_flow is not None else None
            else:
                found = self.columns.solve_integer(self._limits(seconds, None), below, master.cancel, chances)
                claim = self.columns.claim
            if found is not None and found[0].ending in (Ending.PROVEN, Ending.INFEASIBLE):
                self._raise(min(found[0].bound, below), claim)
        if found is not None and found[0].found:
            master.good = found[0].objective
        return found

    def _raise(self, bound: float, claim: Callable[[], Claim] | None) -> None:
        """Raise the bound by a no, and keep what that claims."""
        if bound > self.master.lower:
            self.master.lower, self.master.claim = bound, claim

    def _solve_arc_flow(self, arc_flow: ArcFlowModel | None, below: float, seconds: float) -> Found | None:
        """Solve over all paths that have a chance; None where they are too many or cannot be written.

        Beside what the relaxation takes whole a no, and a bound, are for that alone.
        """
        if arc_flow is None:
            return None
        found = arc_flow.solve(self._limits(seconds, None), below, self.master.cancel)
        for pool, column in found[1]:
            self.columns.add(pool, column)
        return found

    def _limits(self, seconds: float, target: float | None) -> Limits:
        left = max(0.05, min(seconds, self.master.deadline - time.monotonic()))
        gap = max(1e-6, 0.99 * self.master.grain)
        return replace(self.master.limits, time_s=left, target=target, absolute_gap=gap, relative_gap=0.0)
