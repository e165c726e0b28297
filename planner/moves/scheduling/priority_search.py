"""Makes a schedule better by its list: blocks stand earlier or later in it, and it is filled in anew.

A hill climb over the ranks of a serial schedule (priority-list search, Kolisch and Hartmann 1999). A block
moves with all that it needs, or two change places, or one moves alone. Every list is read in a few
milliseconds, where putting windows anew takes seconds; what it gives keeps order, hours, company and money,
and is held against the limits before it is taken.
"""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from planner.moves.figures.evaluator import Figure, LimitEvaluator
from planner.moves.grid.time_grid import Assignment, TimeGrid, count_windows
from planner.moves.scheduling.random_lists import filled_at, listed_at

SPREAD = 4.0
"""How many windows a block is moved in the list, standard deviation."""

WITH_NEEDED, ALONE = 0.5, 0.3
"""How often a block moves with what it needs, and how often alone; else two change places."""

NEAR_LISTS, NEAR = 300, 0.3
"""So many lists are tried near another one, their places changed by so many windows, standard deviation."""

PATIENCE = 1500
"""After so many lists in a row without gain it ends."""

MOST_REFUSED = 12
"""After so many more good lists refused by the limits than taken, lists are filled in under the limits."""

Price = Callable[[Assignment], tuple[float, ...]]
Rank = dict[str, float]


@dataclass
class PrioritySearch:
    """A schedule under change, ``at``, in at most ``windows`` windows; the least ``price`` is the best.

    ``figure`` is what is to become small: blocks that it hangs on are moved.
    """

    grid: TimeGrid
    meter: LimitEvaluator
    figure: Figure
    windows: int
    at: Assignment
    price: Price
    until: float
    seed: int = 0
    cancel: threading.Event | None = None
    rank: Rank = field(default_factory=dict)
    refused: int = 0

    def __post_init__(self) -> None:
        """Begin with the list that the schedule stands for."""
        self.best = self.price(self.at)
        self.rank = {name: float(self.at[name]) for name in self.grid.names}
        self.rng = random.Random(self.seed)
        wanted = {name for term in self.figure.terms for name in term}
        self.key = [name for name in self.grid.names if name in wanted]

    def run(self, other: Mapping[str, float] | None = None) -> Assignment:
        """Take another list, or one near it, where it is better; then climb until the time is over."""
        near = NEAR_LISTS if other else 0
        for number in range(near):
            if self._is_over():
                break
            spread = NEAR if number else 0.0
            self._try({name: at + self.rng.gauss(0.0, spread) for name, at in (other or {}).items()})
        idle = 0
        while self.key and idle < PATIENCE and not self._is_over():
            idle = 0 if self._try(self._moved()) else idle + 1
        return self.at

    def _is_over(self) -> bool:
        return time.monotonic() > self.until or (self.cancel is not None and self.cancel.is_set())

    def _try(self, rank: Rank) -> bool:
        """Take a list that is as good as the best one; say whether it is better."""
        at = self._read(rank)
        if at is None or count_windows(at) > self.windows:
            return False
        price = self.price(at)
        if price > self.best:
            return False
        if at != self.at and not self._holds(at):
            self.refused += 1
            return False
        is_better = price < self.best
        self.refused -= is_better
        self.rank, self.at, self.best = rank, at, price
        return is_better

    def _read(self, rank: Rank) -> Assignment | None:
        """Fill the windows after a list; once the limits refuse much, with these in sight, which is slow."""
        if self.refused < MOST_REFUSED:
            return listed_at(self.grid, rank)
        return filled_at(self.grid, self.meter, rank)

    def _holds(self, at: Assignment) -> bool:
        return all(self.meter.holds(done, batch) for done, batch in self.grid.waves(at))

    def _moved(self) -> Rank:
        """Give the list with a block, or two, elsewhere."""
        rank, needed, choice = dict(self.rank), self.grid.work.needed, self.rng.random()
        if choice < WITH_NEEDED:
            name = self.rng.choice(self.key)
            self._shift(rank, {name, *needed[name]}, self.rng.gauss(0.0, SPREAD))
        elif choice < WITH_NEEDED + ALONE or len(self.key) < 2:
            self._shift(rank, {self.rng.choice(self.grid.names)}, self.rng.gauss(0.0, SPREAD))
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
