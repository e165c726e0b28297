"""Makes a schedule better by its list: blocks stand earlier or later in it, and it is read anew.

A hill climb over the ranks of a schedule generation scheme (priority-list search, Kolisch and Hartmann
1999). A block moves with all that it needs, or two change places, or one moves alone. A list is read in a
millisecond, where putting windows anew takes seconds; what it gives keeps order, hours, conflicts and money,
and is held against the limits of the room before it is taken.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Mapping
from dataclasses import dataclass

from planner.moves.grid.time_grid import Assignment, count_windows
from planner.moves.scheduling.priority_rules import PriorityRule
from planner.moves.scheduling.problem import Aim, SearchProblem
from planner.moves.scheduling.schedule_generation import build_parallel, build_serial, is_whole

Rank = dict[str, float]


@dataclass
class PrioritySearch:
    """A schedule under change, ``at``, in at most ``windows`` windows; the least of ``aim`` is the best.

    ``lists`` is how many lists are read at most, ``until`` when the clock ends it. ``held`` is what the
    level may be. Blocks that the aim hangs on are moved.
    """

    problem: SearchProblem
    aim: Aim
    windows: int
    at: Assignment
    lists: float
    until: float = math.inf
    held: float = math.inf
    refused: int = 0

    def __post_init__(self) -> None:
        """Begin with the list that the schedule stands for."""
        names = self.problem.grid.names
        self.best = self._price(self.at)
        self.rank = {name: float(self.at[name]) for name in names}
        self.rng = random.Random(self.problem.seed)
        wanted = {name for term in self.aim.figure.terms for name in term}
        self.key = [name for name in names if name in wanted]

    def run(self, other: Mapping[str, float] | None = None) -> Assignment:
        """Search near another list, where one is given; then climb until nothing is gained or all is read."""
        params, idle = self.problem.params, 0
        for number in range(params.near_lists if other else 0):
            spread = params.near if number else 0.0
            self._try({name: at + self.rng.gauss(0.0, spread) for name, at in (other or {}).items()})
        while self.key and idle < params.patience and not self._is_over():
            idle = 0 if self._try(self._move()) else idle + 1
        return self.at

    def _is_over(self) -> bool:
        return self.lists <= 0.0 or time.monotonic() > self.until or self.problem.is_cancelled

    def _price(self, at: Assignment) -> tuple[float, float]:
        level = 0.0 if math.isinf(self.held) else self.problem.mean(self.problem.level, at) - self.held
        return max(0.0, level), self.problem.mean(self.aim, at)

    def _try(self, rank: Rank) -> bool:
        """Take a list that is as good as the best one; say whether it is better."""
        at = None if self._is_over() else self._read(rank)
        if at is None or count_windows(at) > self.windows:
            return False
        price = self._price(at)
        if price > self.best:
            return False
        if at != self.at and not self.problem.keeps_limits(at):
            self.refused += 1
            return False
        is_better = price < self.best
        self.refused -= is_better
        self.rank, self.at, self.best = rank, at, price
        return is_better

    def _read(self, rank: Rank) -> Assignment | None:
        """Build the schedule of a list; once the limits refuse much, under these, which is slow."""
        grid, params = self.problem.grid, self.problem.params
        self.lists -= 1.0
        if self.refused < params.refused:
            return build_serial(grid, rank)
        self.lists -= params.put_under_limits - 1.0
        at = build_parallel(grid, PriorityRule(grid.work, rank), self.problem.evaluator)
        return at if is_whole(grid, at) else None

    def _move(self) -> Rank:
        """Move a block, or two, in the list."""
        params, rank, needed = self.problem.params, dict(self.rank), self.problem.grid.work.needed
        choice = self.rng.random()
        if choice < params.with_needed:
            name = self.rng.choice(self.key)
            self._shift(rank, {name, *needed[name]}, self.rng.gauss(0.0, params.spread))
        elif choice < params.with_needed + params.alone or len(self.key) < 2:
            block = self.rng.choice(self.problem.grid.names)
            self._shift(rank, {block}, self.rng.gauss(0.0, params.spread))
        else:
            one, other = self.rng.sample(self.key, 2)
            apart = rank[one] - rank[other]
            self._shift(rank, {one, *(needed[one] - needed[other])} - {other}, -apart)
            self._shift(rank, {other, *(needed[other] - needed[one])} - {one}, apart)
        return rank

    @staticmethod
    def _shift(rank: Rank, names: set[str], by: float) -> None:
        for name in names:
            rank[name] += by
