"""Whole answers where patterns are too many to list: units filled item after item, as ways through positions.

A position is how full a unit is, in whole steps of the one resource that binds; an arc puts an item there,
largest items first, and a stop ends the way in a unit of some pool (after Valério de Carvalho 1999). Arcs and
stops that no pattern with a chance goes through are left out. The rows of the programme stay, but for those
of single pools, which every way keeps: so a no holds for all answers.
"""

from __future__ import annotations

import math
import threading
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
import pulp

from planner.milp import Answer, Ending, Limits, Program, run
from planner.milp.columns import Column, Columns, Priced
from planner.placement.load import SLACK
from planner.placement.pricing import Wares

MOST_STEPS = 4_000
"""Steps up to which a unit is divided."""

NEAR = 1e-6
"""How much of a step a size may be off."""

MOST_ARCS = 15_000
"""Arcs up to which ways are looked for."""

Worths = np.ndarray[tuple[int, int], np.dtype[np.float64]]
Arc = tuple[int, int]
"""How full a unit is, and the size of the item that is put there; or the pool, where the way stops."""


Placed = tuple[int, float, pulp.LpVariable]
"""An item that may go to a pool: its sort, its size as a share of a unit, and its place there."""


@dataclass(frozen=True)
class Ware:
    """An item as a number of steps, and by pool its place there and its sort."""

    size: int
    at: Mapping[int, tuple[pulp.LpVariable, int]]


@dataclass(frozen=True)
class Group:
    """Pools whose items are alike to the programme: how many steps a unit of each holds, and the items."""

    full: Mapping[int, int]
    wares: tuple[Ware, ...]


@dataclass(frozen=True)
class Ways:
    """Arcs and stops of a group of pools that patterns with a chance go through."""

    group: Group
    arcs: tuple[Arc, ...]
    stops: tuple[Arc, ...]


Entries = tuple[tuple[int, float], ...]
"""Where a variable stands in the objective and in the rows, and what it counts there."""


def grouped(columns: Columns, wares: Sequence[Wares]) -> list[Group]:
    """Give the pools as groups; none where a unit cannot be divided into steps, or items have foes."""
    entries, groups = _entries(columns, rows_beside(columns)), list[Group]()
    for pool in sorted(range(len(wares)), key=lambda number: -wares[number].load.count):
        load = wares[pool].load
        if load.sizes.shape[1] != 1 or any(load.foes.values()):
            return []
        items = list(_items(columns, pool, wares[pool]))
        joined = [_joined(group, pool, items, entries) for group in groups]
        found = next((number for number, group in enumerate(joined) if group is not None), None)
        group = _alone(pool, items) if found is None else joined[found]
        if group is None:
            return []
        groups[len(groups) if found is None else found :] = [
            group,
            *groups[len(groups) if found is None else found + 1 :],
        ]
    return groups


def rows_beside(columns: Columns) -> dict[str, pulp.LpConstraint]:
    """Give a programme's rows but for those of single pools, and for what adds up a figure unused else."""
    pool_of = {pool.on: number for number, pool in enumerate(columns.pools)}
    for number, pool in enumerate(columns.pools):
        pool_of.update((place, number) for sort in pool.place for place in sort)
    rows = {name: row for name, row in columns.rows.items() if not _is_of_one(row, pool_of)}
    while True:
        count = Counter(v for row in (columns.objective, *rows.values()) for v, _ in _terms(row))
        unused = {v for v, times in count.items() if times == 1 and v.cat == pulp.LpContinuous}
        kept = {name: row for name, row in rows.items() if unused.isdisjoint(v for v, _ in _terms(row))}
        if len(kept) == len(rows):
            return rows
        rows = kept


def _terms(row: pulp.LpAffineExpression | pulp.LpConstraint) -> list[tuple[pulp.LpVariable, float]]:
    return [(variable, coefficient) for variable, coefficient in row.items() if coefficient != 0.0]


def _is_of_one(row: pulp.LpConstraint, pool_of: Mapping[pulp.LpVariable, int]) -> bool:
    """Say whether a row only tells units and items of one pool what they are to each other."""
    pools = {pool_of.get(variable, -1) for variable, _ in _terms(row)}
    return row.constant == 0.0 and len(pools) == 1 and -1 not in pools


def _entries(columns: Columns, rows: Mapping[str, pulp.LpConstraint]) -> dict[pulp.LpVariable, Entries]:
    """Give where each variable stands in the objective and in rows."""
    found: dict[pulp.LpVariable, list[tuple[int, float]]] = {v: [] for v in columns.program.variables}
    for number, row in enumerate((columns.objective, *rows.values())):
        for variable, coefficient in _terms(row):
            found[variable].append((number, coefficient))
    return {variable: tuple(where) for variable, where in found.items()}


def _items(columns: Columns, pool: int, wares: Wares) -> Iterator[Placed]:
    """Give every item that may go to a pool: its sort, its size, and its place there."""
    sizes = wares.together(wares.load.sizes[:, 0].tolist())
    for sort, variables in enumerate(columns.pools[pool].place):
        yield from ((sort, size, place) for place, size in zip(variables, sizes[sort], strict=True))


def _alone(pool: int, items: Sequence[Placed]) -> Group | None:
    """Give a pool as a group, its unit divided into as few steps as its items allow."""
    shares = [Fraction(size).limit_denominator(MOST_STEPS) for _, size, _ in items]
    steps = math.lcm(*(share.denominator for share in shares))
    off = max(abs(float(share) - size) for share, (_, size, _) in zip(shares, items, strict=True))
    if steps > MOST_STEPS or off * steps > NEAR or min(shares) <= 0:
        return None
    common = math.gcd(*(int(share * steps) for share in shares))
    wares = [
        Ware(int(share * steps) // common, {pool: (place, sort)})
        for share, (sort, _, place) in zip(shares, items, strict=True)
    ]
    return Group({pool: steps // common}, tuple(wares))


def _joined(
    group: Group, pool: int, items: Sequence[Placed], entries: Mapping[pulp.LpVariable, Entries]
) -> Group | None:
    """Give a group with one more pool, None where items there are not what they are in the group."""
    first = next(iter(group.full))
    known = {entries[ware.at[first][0]]: ware for ware in group.wares}
    here = {entries[place]: (sort, size, place) for sort, size, place in items}
    if len(known) < len(group.wares) or len(here) < len(items) or not here.keys() <= known.keys():
        return None
    if min(size for _, size, _ in items) <= 0.0:
        return None
    steps = [known[where].size / size for where, (_, size, _) in here.items()]
    full = int(min(steps) * (1.0 + SLACK) + 100.0 * NEAR)
    left_out = [ware.size for where, ware in known.items() if where not in here]
    if max(steps) - min(steps) > NEAR * min(steps) or min(left_out, default=full + 1) <= full:
        return None
    wares = [
        Ware(ware.size, {**ware.at, pool: (here[where][2], here[where][0])} if where in here else ware.at)
        for where, ware in known.items()
    ]
    return Group({**group.full, pool: full}, tuple(wares))


def ways_of(group: Group, priced: Priced, gap: float) -> Ways:
    """Give the arcs and stops of ways whose unit is worth its whole price but for ``gap``."""
    arcs, stops = set[Arc](), list[Arc]()
    for pool, full in group.full.items():
        unit, prices = priced.whole[pool]
        fitting = [(ware.size, float(prices[ware.at[pool][1]])) for ware in group.wares if pool in ware.at]
        fitting.sort(reverse=True)
        worth = unit - gap
        before = _worths(fitting, full, exact=True)
        after = _worths(fitting[::-1], full, exact=False)[::-1, ::-1]
        for number, (size, price) in enumerate(fitting):
            reached = before[number, : full + 1 - size] + price + after[number + 1, size:]
            arcs.update((int(fill), size) for fill in np.flatnonzero(reached >= worth))
        stops += [(int(fill), pool) for fill in np.flatnonzero(before[-1] >= worth) if fill]
    return Ways(group, tuple(sorted(arcs)), tuple(stops))


def _worths(items: Sequence[tuple[int, float]], full: int, exact: bool) -> Worths:
    """Give by number of first items and by steps the most that some of them are worth which take those.

    With ``exact`` they take just so many steps, else at most so many.
    """
    worths: Worths = np.full((len(items) + 1, full + 1), -math.inf if exact else 0.0)
    worths[0, 0] = 0.0
    for number, (size, price) in enumerate(items):
        taken = worths[number, : full + 1 - size] + price
        worths[number + 1] = worths[number]
        worths[number + 1, size:] = np.maximum(worths[number, size:], taken)
    return worths


class Flows:
    """The programme over ways: arcs and stops are counted, and what is placed is what arcs put there."""

    def __init__(self, columns: Columns, ways: Sequence[Ways]) -> None:
        self.columns, self.ways = columns, ways
        self.program = Program()
        self.program.variables = list(columns.program.variables)
        self.program.rows = rows_beside(columns)
        self.arcs: list[dict[Arc, pulp.LpVariable]] = []
        self.stops: list[dict[Arc, pulp.LpVariable]] = []
        for number, each in enumerate(ways):
            self._write(f"ways {number}", each)

    def _write(self, name: str, ways: Ways) -> None:
        program, total = self.program, self.program.total
        count = Counter(ware.size for ware in ways.group.wares)
        pools = self.columns.pools
        units = {pool: pools[pool].on.upBound for pool in ways.group.full}
        arcs = {(a, s): program.integer(f"{name}:{a}+{s}", count[s]) for a, s in ways.arcs}
        stops = {(a, pool): program.integer(f"{name}:{a} of {pool}", units[pool]) for a, pool in ways.stops}
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
        for size in count:
            put = [(arc, -1.0) for (_, of), arc in arcs.items() if of == size]
            placed = [(v, 1.0) for ware in ways.group.wares if ware.size == size for v, _ in ware.at.values()]
            program.row(f"{name} put {size}", total([*placed, *put]) == 0)
        for pool in ways.group.full:
            ended = [(stop, -1.0) for (_, of), stop in stops.items() if of == pool]
            program.row(f"{name} units {pool}", total([(pools[pool].on, 1.0), *ended]) >= 0)

    def solve(
        self, limits: Limits, below: float, cancel: threading.Event | None = None
    ) -> tuple[Answer, list[tuple[int, Column]]]:
        """Look for an answer of at most ``below``; give it with the columns it takes."""
        limits = replace(limits, below=below, target=below)
        answer = run(self.program, self.columns.objective, limits, cancel=cancel)
        if not answer.found or answer.objective > below:
            refuted = answer.ending is Ending.PROVEN and answer.bound > below
            ended = Ending.INFEASIBLE if refuted or answer.ending is Ending.INFEASIBLE else Ending.EMPTY
            return Answer(ended, {}, math.inf, answer.bound, answer.seconds), []
        values, taken = dict(answer.values), list[tuple[int, Column]]()
        for ways, arcs, stops in zip(self.ways, self.arcs, self.stops, strict=True):
            taken += _dealt(ways.group, list(_units(arcs, stops, values)), values)
        return replace(answer, values=values), taken


def _units(
    arcs: Mapping[Arc, pulp.LpVariable], stops: Mapping[Arc, pulp.LpVariable], values: Mapping[str, float]
) -> Iterator[tuple[int, list[int]]]:
    """Give pool and sizes of every unit: ways taken apart, backwards from their stops."""
    into: dict[int, list[int]] = {}
    for (fill, size), arc in arcs.items():
        into.setdefault(fill + size, []).extend([size] * round(values[arc.name]))
    for (fill, pool), stop in stops.items():
        for _ in range(round(values[stop.name])):
            sizes, at = list[int](), fill
            while at:
                sizes.append(into[at].pop())
                at -= sizes[-1]
            yield pool, sizes


def _dealt(
    group: Group, units: Sequence[tuple[int, list[int]]], values: dict[str, float]
) -> Iterator[tuple[int, Column]]:
    """Deal the items placed in a group out to its units, and note in which pool each is now."""
    waiting: dict[int, list[Ware]] = {}
    for ware in group.wares:
        if sum(values[place.name] for place, _ in ware.at.values()) > 0.5:
            waiting.setdefault(ware.size, []).append(ware)
    for pool, sizes in units:
        sorts = []
        for size in sizes:
            at = waiting[size].pop().at
            values.update({place.name: 0.0 for place, _ in at.values()})
            values[at[pool][0].name] = 1.0
            sorts.append(at[pool][1])
        yield pool, tuple(sorted(sorts))
