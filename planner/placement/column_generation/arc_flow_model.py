"""Whole answers where patterns are too many to list: a programme over paths through nodes.

The rows of the question's programme stay, but for those of single pools, which every way keeps: so a no holds
for all answers.

Why so: items are put exactly as often as they are there (at least as often took up to 17 s), and units that
the relaxation takes whole are taken in advance first, which leaves a fifth of the items. The judge sees
every state. Where one resource binds in whole steps, patterns come before anything else (`Asking._early`).

Tried and left: no presolve (often twice as fast, once 19 s for 3), more of HiGHS's heuristics, its restarts
(no faster).
"""

from __future__ import annotations

import math
import threading
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

import pulp

from planner.placement.column_generation.arc_flow_graph import (
    Arc,
    ArcFlowGraph,
    Group,
    SteppedItem,
    Unit,
    rows_beside,
)
from planner.placement.column_generation.columns import Column, Columns
from planner.solver import Answer, Ending, Limits, Program, run
from planner.solver.confirm import Claim
from planner.solver.standard_form import form_of


class ArcFlowModel:
    """The programme over paths: arcs and stops are counted, and what is placed is what arcs put there."""

    def __init__(self, columns: Columns, graphs: Sequence[ArcFlowGraph]) -> None:
        self.columns, self.graphs = columns, graphs
        self.claim: Callable[[], Claim] | None = None
        self.program = Program()
        self.program.variables = list(columns.program.variables)
        self.program.rows = rows_beside(columns)
        self.arcs: list[dict[Arc, pulp.LpVariable]] = []
        self.stops: list[dict[Arc, pulp.LpVariable]] = []
        for number, each in enumerate(graphs):
            self._write(f"paths {number}", each)

    def _write(self, name: str, graph: ArcFlowGraph) -> None:
        program, total = self.program, self.program.total
        count = Counter(item.size for item in graph.group.items)
        pools = self.columns.pools
        units = {pool: pools[pool].on.upBound for pool in graph.group.full}
        arcs = {(a, s): program.integer(f"{name}:{a}+{s}", count[s]) for a, s in graph.arcs}
        stops = {(a, pool): program.integer(f"{name}:{a} of {pool}", units[pool]) for a, pool in graph.stops}
        self.arcs.append(arcs)
        self.stops.append(stops)
        through: dict[int, list[tuple[pulp.LpVariable, float]]] = {}
        for (fill, size), arc in arcs.items():
            through.setdefault(fill, []).append((arc, -1.0))
            through.setdefault(fill + size, []).append((arc, 1.0))
        for (fill, _), stop in stops.items():
            through.setdefault(fill, []).append((stop, -1.0))
        through.pop(0, None)
        for fill, terms in through.items():
            program.row(f"{name} through {fill}", total(terms) == 0)
        gone = Counter(size for _, sizes in graph.taken for size in sizes)
        for size in count:
            put = [(arc, -1.0) for (_, of), arc in arcs.items() if of == size]
            alike = [item for item in graph.group.items if item.size == size]
            placed = [(variable, 1.0) for item in alike for variable, _ in item.at.values()]
            program.row(f"{name} put {size}", total([*placed, *put]) == gone[size])
        filled = Counter(pool for pool, _ in graph.taken)
        for pool in graph.group.full:
            ended = [(stop, -1.0) for (_, of), stop in stops.items() if of == pool]
            program.row(f"{name} units {pool}", total([(pools[pool].on, 1.0), *ended]) >= filled[pool])

    def solve(
        self, limits: Limits, below: float, cancel: threading.Event | None = None
    ) -> tuple[Answer, list[tuple[int, Column]]]:
        """Look for an answer of at most ``below``, with its columns; ``claim`` makes what a no claims."""
        limits = replace(limits, below=below, target=below)
        program, objective = self.program, self.columns.objective
        answer = run(program, objective, limits, cancel=cancel)
        self.claim = lambda: Claim(form_of(program.variables, objective, program.rows), below, limits.solver)
        if not answer.found or answer.objective > below:
            refuted = answer.ending is Ending.PROVEN and answer.bound > below
            ended = Ending.INFEASIBLE if refuted or answer.ending is Ending.INFEASIBLE else Ending.EMPTY
            return Answer(ended, {}, math.inf, answer.bound, answer.seconds), []
        values, taken = dict(answer.values), list[tuple[int, Column]]()
        for graph, arcs, stops in zip(self.graphs, self.arcs, self.stops, strict=True):
            taken += _dealt(graph.group, [*graph.taken, *_units(arcs, stops, values)], values)
        return replace(answer, values=values), taken


def _units(
    arcs: Mapping[Arc, pulp.LpVariable], stops: Mapping[Arc, pulp.LpVariable], values: Mapping[str, float]
) -> Iterator[Unit]:
    """Compute pool and sizes of every unit: paths taken apart, backwards from their stops."""
    into: dict[int, list[int]] = {}
    for (fill, size), arc in arcs.items():
        into.setdefault(fill + size, []).extend([size] * round(values[arc.name]))
    for (fill, pool), stop in stops.items():
        for _ in range(round(values[stop.name])):
            sizes, at = list[int](), fill
            while at:
                sizes.append(into[at].pop())
                at -= sizes[-1]
            yield pool, tuple(sizes)


def _dealt(group: Group, units: Sequence[Unit], values: dict[str, float]) -> Iterator[tuple[int, Column]]:
    """Deal the items placed in a group out to its units, and note in which pool each is now."""
    waiting: dict[int, list[SteppedItem]] = {}
    for item in group.items:
        if sum(values[place.name] for place, _ in item.at.values()) > 0.5:
            waiting.setdefault(item.size, []).append(item)
    for pool, sizes in units:
        classes = []
        for size in sizes:
            at = waiting[size].pop().at
            values.update({place.name: 0.0 for place, _ in at.values()})
            values[at[pool][0].name] = 1.0
            classes.append(at[pool][1])
        yield pool, tuple(sorted(classes))
