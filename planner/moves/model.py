"""The schedule as an integer programme: which block is done by the end of which window.

``x[b,w]`` is 1 when block b is done by the end of window w. Products of such variables stand for figures
that hang on several blocks, such as a machine's sound under a measure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import networkx as nx
import pulp

from planner.milp import Program
from planner.moves.links import Lag
from planner.moves.poly import Poly, Term
from planner.moves.presence import BEFORE
from planner.moves.waves import CENT, Slot, is_near
from planner.moves.work import Work

Terms = list[tuple[pulp.LpVariable, float]]


def least_windows(work: Work, slots: Sequence[Slot]) -> int:
    """Give a number of windows that is certainly needed: by chains, company and hours."""
    steps: dict[str, int] = {}
    for name in nx.topological_sort(work.graph):
        steps[name] = max(
            (
                steps[before] + (work.lags[before, name] is not Lag.SAME)
                for before in work.graph.predecessors(name)
            ),
            default=1,
        )
    company = [len(rule.blocks) for rule in work.nevers]
    most_h = max((slot.crew_h for slot in slots), default=0.0)
    hours = sum(block.hours for block in work.blocks)
    by_hours = math.ceil(hours / most_h - 1e-6) if most_h > 0.0 else 0
    return max([*steps.values(), *company, by_hours], default=0)


@dataclass
class Model:
    """The programme of a work over slots; variables by block and window."""

    work: Work
    slots: Sequence[Slot]
    ready_h: Mapping[str, float] = field(default_factory=dict)
    program: Program = field(default_factory=Program)
    done: dict[tuple[str, int], pulp.LpVariable] = field(default_factory=dict)
    used: list[pulp.LpVariable] = field(default_factory=list)
    products: dict[tuple[Term, int], pulp.LpVariable] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Make the variables and the rows that every schedule keeps."""
        closure = nx.transitive_closure_dag(self.work.graph)
        self._before = {name: frozenset(closure.predecessors(name)) for name in closure.nodes}
        for index in range(len(self.slots)):
            self.used.append(self.program.binary(f"used@{index}"))
            for block in self.work.blocks:
                self.done[block.name, index] = self.program.binary(f"{block.name}@{index}")
        self._once()
        self._precedence()
        self._ready()
        self._hours()
        self._nevers()
        self._money()
        self.program.row(
            "fewest windows", pulp.lpSum(self.used) + 0.0 >= least_windows(self.work, self.slots)
        )

    def new(self, name: str, index: int) -> Terms:
        """Give 'this block is done in this window'."""
        terms: Terms = [(self.done[name, index], 1.0)]
        return terms if index == 0 else [*terms, (self.done[name, index - 1], -1.0)]

    def at_most(self, name: str, terms: Iterable[tuple[pulp.LpVariable, float]], limit: float) -> None:
        """Add a row: a sum is at most a number."""
        self.program.row(name, self.program.total(terms) <= limit)

    def _once(self) -> None:
        last = len(self.slots) - 1
        for block in self.work.blocks:
            self.program.row(f"done: {block.name}", self.done[block.name, last] + 0.0 >= 1)
            for index in range(len(self.slots)):
                if index:
                    pair = [(self.done[block.name, index - 1], 1.0), (self.done[block.name, index], -1.0)]
                    self.at_most(f"stays done: {block.name}@{index}", pair, 0.0)
                terms = [*self.new(block.name, index), (self.used[index], -1.0)]
                self.at_most(f"used: {block.name}@{index}", terms, 0.0)

    def earliest(self, lag: Lag, index: int) -> int:
        """Give the last window by which what comes before must be done for a window; -1 for none."""
        if lag is Lag.SAME:
            return index
        start_h = self.slots[index].start_h
        ready = [i for i in range(index) if self.slots[i].end_h + lag.hours <= start_h]
        return max(ready, default=-1)

    def _precedence(self) -> None:
        for (before, after), lag in self.work.lags.items():
            for index in range(len(self.slots)):
                at = self.earliest(lag, index)
                terms: Terms = [(self.done[after, index], 1.0)]
                if at >= 0:
                    terms.append((self.done[before, at], -1.0))
                self.at_most(f"{before} before {after}@{index}", terms, 0.0)

    def _ready(self) -> None:
        for name, hour in self.ready_h.items():
            for index, slot in enumerate(self.slots):
                if slot.start_h < hour:
                    self.at_most(f"held: {name}@{index}", [(self.done[name, index], 1.0)], 0.0)

    def _hours(self) -> None:
        for index, slot in enumerate(self.slots):
            terms: Terms = [(self.used[index], -slot.crew_h)]
            for block in self.work.blocks:
                terms += [(v, c * block.hours) for v, c in self.new(block.name, index)]
                if block.hours > slot.hours + 1e-9:
                    self.at_most(f"too long: {block.name}@{index}", self.new(block.name, index), 0.0)
            self.at_most(f"hours@{index}", terms, 1e-7)
            if slot.crew > 1:
                self._chains(index, slot)

    def _chains(self, index: int, slot: Slot) -> None:
        """Where several people work at once: what follows each other in a window fits it one by one."""
        ends = {
            block.name: self.program.continuous(f"end: {block.name}@{index}", slot.hours)
            for block in self.work.blocks
        }
        for block in self.work.blocks:
            own = [(v, c * block.hours) for v, c in self.new(block.name, index)]
            self.at_most(f"takes: {block.name}@{index}", [*own, (ends[block.name], -1.0)], 0.0)
        for (before, after), lag in self.work.lags.items():
            if lag is not Lag.SAME:
                continue
            hours, room = self.work.block[after].hours, slot.hours
            terms: Terms = [(ends[before], 1.0), (ends[after], -1.0)]
            terms += [(v, c * (hours + room)) for v, c in self.new(after, index)]
            terms += [(v, c * room) for v, c in self.new(before, index)]
            self.at_most(f"chain: {before} then {after}@{index}", terms, 2.0 * room)

    def _nevers(self) -> None:
        for number, rule in enumerate(self.work.nevers):
            for index in range(len(self.slots)):
                near = [i for i in range(index, len(self.slots)) if is_near(self.slots, index, i)]
                terms = [term for name in rule.blocks for i in near for term in self.new(name, i)]
                self.at_most(f"{rule.because} ({number})@{index}", terms, 1.0)

    def _money(self) -> None:
        """What is bought in the windows of a month costs no more than there is."""
        months = {slot.month: slot.money for slot in self.slots if math.isfinite(slot.money)}
        for month, money in months.items():
            terms = [
                (variable, sign * price)
                for name, price in self.work.prices.items()
                for index, slot in enumerate(self.slots)
                if slot.month == month
                for variable, sign in self.new(name, index)
            ]
            self.at_most(f"money of {month % 12 or 12}/{(month - 1) // 12}", terms, money + CENT / 2.0)

    def linear(self, poly: Poly, index: int) -> tuple[Terms, float]:
        """Give a polynomial in a window as terms and a constant."""
        terms: Terms = []
        constant = 0.0
        for term, value in poly.reduced(self._shorten).terms.items():
            factors = [
                factor for literal in sorted(term) if (factor := self._factor(literal, index)) is not None
            ]
            if len(factors) < len(term):
                continue
            if not factors:
                constant += value
            elif len(factors) == 1:
                terms.append((factors[0], value))
            else:
                terms.append((self._product(term, index, factors), value))
        return terms, constant

    def _shorten(self, term: Term) -> Term:
        """Leave out what is done whenever something else of the product is; name blocks, not tasks."""
        named = set()
        for literal in term:
            early = literal.endswith(BEFORE) and literal not in self.work.tasks
            task = literal[: -len(BEFORE)] if early else literal
            if task in self.work.past:
                continue
            named.add((self.work.of_task[task], early))
        kept = [(b, early) for b, early in named if not any(self._implied(b, early, o) for o in named)]
        return frozenset(block + (BEFORE if early else "") for block, early in kept)

    def _implied(self, block: str, early: bool, other: tuple[str, bool]) -> bool:
        """Say whether a block is done (early: a window before) whenever another one is."""
        if (block, early) == other or (early and not other[1]):
            return False
        return block == other[0] or block in self._before[other[0]]

    def _factor(self, literal: str, index: int) -> pulp.LpVariable | None:
        """Give the variable of a block's literal; None where nothing can be done yet."""
        if literal in self.work.block:
            return self.done[literal, index]
        return self.done[literal[: -len(BEFORE)], index - 1] if index else None

    def _product(self, term: Term, index: int, factors: Sequence[pulp.LpVariable]) -> pulp.LpVariable:
        key = term, index
        if key not in self.products:
            name = " and ".join(sorted(term))
            both = self.program.continuous(f"({name})@{index}")
            for number, factor in enumerate(factors):
                self.at_most(f"({name})@{index} under {number}", [(both, 1.0), (factor, -1.0)], 0.0)
            terms = [*((factor, 1.0) for factor in factors), (both, -1.0)]
            self.at_most(f"({name})@{index} over", terms, len(factors) - 1.0)
            self.products[key] = both
        return self.products[key]

    def batches(self, values: Mapping[str, float]) -> list[set[str]]:
        """Read which blocks are done in which window."""
        found: list[set[str]] = []
        seen: set[str] = set()
        for index in range(len(self.slots)):
            now = {b.name for b in self.work.blocks if values[self.done[b.name, index].name] > 0.5}
            found.append(now - seen)
            seen |= now
        return found

    def start(self, batches: Sequence[set[str]]) -> dict[str, float]:
        """Give the values of a schedule, products included."""
        values: dict[str, float] = {}
        seen: set[str] = set()
        for index in range(len(self.slots)):
            batch = batches[index] if index < len(batches) else set()
            seen |= batch
            values[self.used[index].name] = float(bool(batch))
            for block in self.work.blocks:
                values[self.done[block.name, index].name] = float(block.name in seen)
        for (term, index), variable in self.products.items():
            factors = [self._factor(literal, index) for literal in term]
            values[variable.name] = min(values[f.name] for f in factors if f is not None)
        return values

    def forbid(self, number: int, index: int, done: Iterable[str], batch: Iterable[str], bad: int) -> None:
        """Shut out one wave in a window: this batch after those blocks; ``bad`` is where it was found."""
        seen, now = set(done), set(batch)
        terms: Terms = []
        count = 0
        for block in self.work.blocks:
            is_done = block.name in now or block.name in seen
            terms.append((self.done[block.name, index], 1.0 if is_done else -1.0))
            count += is_done
            if index:
                was_done = block.name in seen
                terms.append((self.done[block.name, index - 1], 1.0 if was_done else -1.0))
                count += was_done
        self.at_most(f"shut out {number} of {bad}@{index}", terms, count - 1.0)
