"""The schedule as an integer programme: which block is done by the end of which window.

``x[b,w]`` is 1 when block b is done by the end of window w. It is a variable only from the first window in
which b can be done until the one before the last; so the same model is a whole schedule, or a few windows
of one with all else where it is. Products of such variables stand for figures that hang on several blocks,
such as a machine's sound under a measure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeAlias

import pulp

from planner.moves.figures.polynomials import Literal, Poly, Term
from planner.moves.grid.slots import CENT, Slot
from planner.moves.grid.time_grid import Assignment, TimeGrid
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.work_packages import Block, Work
from planner.solver import Program

Value: TypeAlias = pulp.LpVariable | float
"""A variable, or 0 or 1 where it is known."""

Open: TypeAlias = list[tuple[pulp.LpVariable, float]]

Terms: TypeAlias = list[tuple[Value, float]]
SLOP = 1e-7


@dataclass
class Model:
    """The programme of a work over a grid; ``earliest`` and ``latest`` are each block's windows.

    ``is_whole``: blocks with one window are held to the rules too, instead of being known to keep them.
    """

    grid: TimeGrid
    earliest: Mapping[str, int]
    latest: Mapping[str, int]
    is_whole: bool = False
    program: Program = field(default_factory=Program)
    done: dict[tuple[str, int], pulp.LpVariable] = field(default_factory=dict)
    products: dict[tuple[Term, int], pulp.LpVariable] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Make the variables and the rows that every schedule keeps."""
        self._reduced: dict[int, tuple[Poly, Mapping[Term, float]]] = {}
        self.program.continuous("always", 1.0, 1.0)  # a programme without any variable is not solved
        for block in self.free:
            for index in range(self.earliest[block.name], self.latest[block.name]):
                self.done[block.name, index] = self.program.binary(f"{block.name}@{index}")
        self._stays_done()
        self._precedence()
        for index in self.windows:
            self._hours(index, self.grid.slots[index])
        self._nevers()
        self._money()

    @property
    def work(self) -> Work:
        """The work."""
        return self.grid.work

    @property
    def slots(self) -> Sequence[Slot]:
        """The windows."""
        return self.grid.slots

    @cached_property
    def free(self) -> list[Block]:
        """The blocks whose window is to be found."""
        return [b for b in self.work.blocks if self.earliest[b.name] < self.latest[b.name]]

    @cached_property
    def windows(self) -> range:
        """The windows in which something is to be found, or all of them."""
        if self.is_whole:
            return range(self.grid.count)
        first = min((self.earliest[block.name] for block in self.free), default=0)
        return range(first, max((self.latest[block.name] for block in self.free), default=-1) + 1)

    def is_done(self, name: str, index: int) -> Value:
        """Look up 'this block is done by the end of this window'."""
        if index < self.earliest[name]:
            return 0.0
        return 1.0 if index >= self.latest[name] else self.done[name, index]

    def new(self, name: str, index: int) -> Terms:
        """Build 'this block is done in this window'."""
        terms: Terms = [(self.is_done(name, index), 1.0)]
        return terms if index == 0 else [*terms, (self.is_done(name, index - 1), -1.0)]

    def at_most(self, name: str, terms: Iterable[tuple[Value, float]], limit: float) -> None:
        """Add a row: a sum is at most a number; one that holds in any case is left out."""
        open_terms: Open = []
        most = 0.0
        for value, factor in terms:
            if isinstance(value, float):
                limit -= factor * value
                continue
            open_terms.append((value, factor))
            most += max(factor * (value.lowBound or 0.0), factor * _upper(value))
        if most <= limit:
            return
        if not open_terms:
            if limit < -10.0 * SLOP:
                self.program.row(name, self.program.continuous(name, 0.0) >= 1.0)
            return
        self.program.row(name, self.program.total(open_terms) <= limit)

    def _stays_done(self) -> None:
        for block in self.free:
            name = block.name
            for index in range(self.earliest[name], self.latest[name] + 1):
                before = (self.is_done(name, index - 1), 1.0) if index else (0.0, 1.0)
                now = self.is_done(name, index)
                self.at_most(f"stays done: {name}@{index}", [before, (now, -1.0)], 0.0)
                if not self.grid.takes(name, index):
                    self.at_most(f"too long: {name}@{index}", self.new(name, index), 0.0)

    def _precedence(self) -> None:
        open_names = {block.name for block in self.free}
        for (before, after), lag in self.work.lags.items():
            if not (self.is_whole or open_names & {before, after}):
                continue
            for index in range(self.earliest[after], self.latest[after] + 1):
                at = self.grid.latest_before[lag][index]
                first = self.is_done(before, at) if at >= 0 else 0.0
                terms: Terms = [(self.is_done(after, index), 1.0), (first, -1.0)]
                self.at_most(f"{before} before {after}@{index}", terms, 0.0)

    def _hours(self, index: int, slot: Slot) -> None:
        terms = [(v, c * b.hours) for b in self.work.blocks for v, c in self.new(b.name, index)]
        self.at_most(f"hours@{index}", terms, slot.crew_h + SLOP)
        if slot.crew > 1:
            self._chains(index, slot)

    def _chains(self, index: int, slot: Slot) -> None:
        """Where several people work at once: what follows each other in a window fits it one by one."""
        near = [b.name for b in self.work.blocks if self.earliest[b.name] <= index <= self.latest[b.name]]
        here = set(near)
        ends = {name: self.program.continuous(f"end: {name}@{index}", slot.hours) for name in near}
        for name in near:
            own = [(v, c * self.work.block[name].hours) for v, c in self.new(name, index)]
            self.at_most(f"takes: {name}@{index}", [*own, (ends[name], -1.0)], 0.0)
        for (before, after), lag in self.work.lags.items():
            if lag is not Lag.SAME or not {before, after} <= here:
                continue
            hours, room = self.work.block[after].hours, slot.hours
            terms: Terms = [(ends[before], 1.0), (ends[after], -1.0)]
            terms += [(v, c * (hours + room)) for v, c in self.new(after, index)]
            terms += [(v, c * room) for v, c in self.new(before, index)]
            self.at_most(f"chain: {before} then {after}@{index}", terms, 2.0 * room)

    def _nevers(self) -> None:
        for number, rule in enumerate(self.work.nevers):
            for index in self.windows:
                near = [i for i in self.grid.near[index] if i >= index]
                terms = [term for name in rule.blocks for i in near for term in self.new(name, i)]
                self.at_most(f"{rule.because} ({number})@{index}", terms, 1.0)

    def _money(self) -> None:
        """What is bought in the windows of a month costs no more than there is."""
        months = {slot.month: slot.money for slot in self.slots if math.isfinite(slot.money)}
        for month, money in months.items():
            terms = [
                (value, sign * price)
                for name, price in self.work.prices.items()
                for index, slot in enumerate(self.slots)
                if slot.month == month
                for value, sign in self.new(name, index)
            ]
            self.at_most(f"money of {month % 12 or 12}/{(month - 1) // 12}", terms, money + CENT / 2.0)

    def build_linear(self, poly: Poly, index: int) -> tuple[Open, float]:
        """Build a polynomial in a window as terms in variables and a constant."""
        terms: Open = []
        constant = 0.0
        for term, value in self._shortened(poly).items():
            factors: list[pulp.LpVariable] = []
            for literal in sorted(term):
                factor = self._factor(literal, index)
                if not isinstance(factor, float):
                    factors.append(factor)
                elif factor == 0.0:
                    break
            else:
                if not factors:
                    constant += value
                elif len(factors) == 1:
                    terms.append((factors[0], value))
                else:
                    terms.append((self._product(term, index, factors), value))
        return terms, constant

    def build_mean(self, poly: Poly) -> pulp.LpAffineExpression:
        """Build what the model's windows add to the mean of a polynomial over time."""
        spans, constant = self.grid.spans_h, 0.0
        summed: Open = []
        for index in self.windows:
            terms, fixed = self.build_linear(poly, index)
            share = spans[index] / sum(spans)
            summed += [(variable, value * share) for variable, value in terms]
            constant += fixed * share
        return self.program.total(summed) + constant

    def _shortened(self, poly: Poly) -> Mapping[Term, float]:
        known = self._reduced.get(id(poly))
        if known is None:
            known = self._reduced[id(poly)] = poly, poly.reduced(self._shorten)
        return known[1]

    def _shorten(self, term: Term) -> Term:
        """Leave out what is done whenever something else of the product is; name blocks, not tasks."""
        past, of_task = self.work.past, self.work.of_task
        named = {Literal(of_task[task], early) for task, early in term if task not in past}
        return frozenset(one for one in named if not any(self._implied(one, other) for other in named))

    def _implied(self, one: Literal, other: Literal) -> bool:
        """Say whether a block is done (early: a window before) whenever another one is."""
        if one == other or (one.early and not other.early):
            return False
        return one.name == other.name or one.name in self.work.needed[other.name]

    def _factor(self, literal: Literal, index: int) -> Value:
        """Look up the value of a block's literal; 0 where nothing can be done yet."""
        if not literal.early:
            return self.is_done(literal.name, index)
        return self.is_done(literal.name, index - 1) if index else 0.0

    def _product(self, term: Term, index: int, factors: Sequence[pulp.LpVariable]) -> pulp.LpVariable:
        key = term, index
        if key not in self.products:
            name = " and ".join(f"{block} before" if early else block for block, early in sorted(term))
            both = self.program.continuous(f"({name})@{index}")
            for number, factor in enumerate(factors):
                self.at_most(f"({name})@{index} under {number}", [(both, 1.0), (factor, -1.0)], 0.0)
            terms: Terms = [*((factor, 1.0) for factor in factors), (both, -1.0)]
            self.at_most(f"({name})@{index} over", terms, len(factors) - 1.0)
            self.products[key] = both
        return self.products[key]

    def read(self, values: Mapping[str, float]) -> Assignment:
        """Read the window of each block."""
        found = {name: self.latest[name] for name in self.grid.names}
        for (name, index), variable in self.done.items():
            if values[variable.name] > 0.5:
                found[name] = min(found[name], index)
        return found

    def start(self, at: Mapping[str, int]) -> dict[str, float]:
        """Compute the values of a schedule, products included."""
        values = {v.name: float(at[name] <= index) for (name, index), v in self.done.items()}
        for (term, index), variable in self.products.items():
            factors = [self._factor(literal, index) for literal in term]
            values[variable.name] = min(f if isinstance(f, float) else values[f.name] for f in factors)
        return values

    def shut_out(self, number: int, index: int, done: Iterable[str], batch: Iterable[str], bad: int) -> None:
        """Shut out one wave in a window: this batch after those blocks; ``bad`` is where it was found."""
        seen, now = set(done), set(batch)
        terms: Terms = []
        count = 0
        for block in self.work.blocks:
            is_done = block.name in now or block.name in seen
            terms.append((self.is_done(block.name, index), 1.0 if is_done else -1.0))
            count += is_done
            if index:
                was_done = block.name in seen
                terms.append((self.is_done(block.name, index - 1), 1.0 if was_done else -1.0))
                count += was_done
        self.at_most(f"shut out {number} of {bad}@{index}", terms, count - 1.0)


def _upper(variable: pulp.LpVariable) -> float:
    return float("inf") if variable.upBound is None else float(variable.upBound)
