"""The arc-flow graph: how a unit may be filled item after item, where one resource binds.

A node is how full a unit is, in whole steps; an arc puts an item there, largest items first, and a stop
ends the path in a unit of some pool (after Valério de Carvalho 1999). Arcs and stops that no pattern with a
chance goes through are left out. Pools whose items are alike to the programme share their nodes.

Why so: sharing nodes decides about the time (200 items and five kinds of unit: above 60 s apart, 2 s
shared).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pulp

from planner.placement.column_generation.columns import Columns, Relaxation
from planner.placement.params import PARAMS
from planner.placement.pool_instance import SLACK, PoolInstance

NEAR = 1e-6
"""How much of a step a size may be off."""

Worths = np.ndarray[tuple[int, int], np.dtype[np.float64]]
Arc = tuple[int, int]
"""How full a unit is, and the size of the item that is put there; or the pool, where the path stops."""


Placed = tuple[int, float, pulp.LpVariable]
"""An item that may go to a pool: its class, its size as a share of a unit, and its place there."""


Unit = tuple[int, tuple[int, ...]]
"""A filled unit: its pool, and the sizes of the items on it."""


@dataclass(frozen=True)
class SteppedItem:
    """An item as a number of steps, and by pool its place there and its class."""

    size: int
    at: Mapping[int, tuple[pulp.LpVariable, int]]


@dataclass(frozen=True)
class Group:
    """Pools whose items are alike to the programme: how many steps a unit of each holds, and the items."""

    full: Mapping[int, int]
    items: tuple[SteppedItem, ...]


@dataclass(frozen=True)
class ArcFlowGraph:
    """Arcs and stops of a group of pools that patterns with a chance go through.

    ``taken``: units that are filled already, by pool and the sizes on them.
    """

    group: Group
    arcs: tuple[Arc, ...]
    stops: tuple[Arc, ...]
    taken: tuple[Unit, ...]


Entries = tuple[tuple[int, float], ...]
"""Where a variable stands in the objective and in the rows, and what it counts there."""


def grouped(columns: Columns, instances: Sequence[PoolInstance]) -> list[Group]:
    """Group the pools; no groups where a unit cannot be divided into steps, or items have conflicts."""
    entries, groups = _entries(columns, rows_beside(columns)), list[Group]()
    for pool in sorted(range(len(instances)), key=lambda number: -instances[number].count):
        instance = instances[pool]
        if instance.sizes.shape[1] != 1 or any(instance.conflicts.values()):
            return []
        items = list(_items(columns, pool, instance))
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
    """Look up a programme's rows but for those of single pools, and for what adds up a figure unused else."""
    pool_of = {pool.on: number for number, pool in enumerate(columns.pools)}
    for number, pool in enumerate(columns.pools):
        pool_of.update((place, number) for alike in pool.place for place in alike)
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
    """Look up where each variable stands in the objective and in rows."""
    found: dict[pulp.LpVariable, list[tuple[int, float]]] = {v: [] for v in columns.program.variables}
    for number, row in enumerate((columns.objective, *rows.values())):
        for variable, coefficient in _terms(row):
            found[variable].append((number, coefficient))
    return {variable: tuple(where) for variable, where in found.items()}


def _items(columns: Columns, pool: int, instance: PoolInstance) -> Iterator[Placed]:
    """List every item that may go to a pool: its class, its size, and its place there."""
    sizes = instance.by_class(instance.sizes[:, 0].tolist())
    for item_class, variables in enumerate(columns.pools[pool].place):
        yield from (
            (item_class, size, place) for place, size in zip(variables, sizes[item_class], strict=True)
        )


def in_steps(sizes: Sequence[float]) -> tuple[int, list[int]] | None:
    """Compute into how many steps a unit is divided, as few as its items allow, and how many each item takes.

    None where an item takes no whole number of steps, or nothing.
    """
    shares = [Fraction(size).limit_denominator(PARAMS.diving.most_steps) for size in sizes]
    steps = math.lcm(*(share.denominator for share in shares))
    off = max((abs(float(share) - size) for share, size in zip(shares, sizes, strict=True)), default=0.0)
    if steps > PARAMS.diving.most_steps or off * steps > NEAR or min(shares, default=0) <= 0:
        return None
    common = math.gcd(*(int(share * steps) for share in shares))
    return steps // common, [int(share * steps) // common for share in shares]


def _alone(pool: int, items: Sequence[Placed]) -> Group | None:
    """Build the group of one pool, its unit divided into steps."""
    stepped = in_steps([size for _, size, _ in items])
    if stepped is None:
        return None
    stepped_items = [
        SteppedItem(size, {pool: (place, item_class)})
        for size, (item_class, _, place) in zip(stepped[1], items, strict=True)
    ]
    return Group({pool: stepped[0]}, tuple(stepped_items))


def _joined(
    group: Group, pool: int, items: Sequence[Placed], entries: Mapping[pulp.LpVariable, Entries]
) -> Group | None:
    """Build a group with one more pool, None where items there are not what they are in the group."""
    first = next(iter(group.full))
    known = {entries[item.at[first][0]]: item for item in group.items}
    here = {entries[place]: (item_class, size, place) for item_class, size, place in items}
    if len(known) < len(group.items) or len(here) < len(items) or not here.keys() <= known.keys():
        return None
    if min(size for _, size, _ in items) <= 0.0:
        return None
    steps = [known[where].size / size for where, (_, size, _) in here.items()]
    full = int(min(steps) * (1.0 + SLACK) + 100.0 * NEAR)
    left_out = [item.size for where, item in known.items() if where not in here]
    if max(steps) - min(steps) > NEAR * min(steps) or min(left_out, default=full + 1) <= full:
        return None
    stepped_items = [
        SteppedItem(
            item.size, {**item.at, pool: (here[where][2], here[where][0])} if where in here else item.at
        )
        for where, item in known.items()
    ]
    return Group({**group.full, pool: full}, tuple(stepped_items))


def build_graph(group: Group, priced: Relaxation, gap: float, taken: Sequence[Unit] = ()) -> ArcFlowGraph:
    """Build the graph of units that are worth their whole price but for ``gap``, beside ``taken``."""
    arcs, stops, stepped_items = set[Arc](), list[Arc](), _left(group, taken)
    for pool, full in group.full.items():
        unit, prices = priced.whole[pool]
        fitting = [(item.size, float(prices[item.at[pool][1]])) for item in stepped_items if pool in item.at]
        fitting.sort(reverse=True)
        before = _worths(fitting, full, exact=True)
        after = _worths(fitting[::-1], full, exact=False)[::-1, ::-1]
        for number, (size, price) in enumerate(fitting):
            reached = before[number, : full + 1 - size] + price + after[number + 1, size:]
            arcs.update((int(fill), size) for fill in np.flatnonzero(reached >= unit - gap))
        stops += [(int(fill), pool) for fill in np.flatnonzero(before[-1] >= unit - gap) if fill]
    return ArcFlowGraph(group, tuple(sorted(arcs)), tuple(stops), tuple(taken))


def _left(group: Group, taken: Sequence[Unit]) -> list[SteppedItem]:
    """Compute items that are left beside units which are filled already; those of a size count as alike."""
    gone = Counter(size for _, sizes in taken for size in sizes)
    left = []
    for item in group.items:
        if gone[item.size]:
            gone[item.size] -= 1
        else:
            left.append(item)
    return left


def integral_part(group: Group, columns: Columns, priced: Relaxation) -> list[Unit]:
    """Compute units of columns that the relaxation takes whole, with no more items than there are."""
    size_of = {
        (pool, item_class): item.size for item in group.items for pool, (_, item_class) in item.at.items()
    }
    left, units = Counter(item.size for item in group.items), list[Unit]()
    for (pool, column), use in zip(columns.columns, priced.used.tolist(), strict=False):
        for _ in range(int(use + NEAR) if pool in group.full else 0):
            sizes = []
            for size in (size_of[pool, item_class] for item_class in column):
                if left[size]:
                    left[size] -= 1
                    sizes.append(size)
            units += [(pool, tuple(sizes))] if sizes else []
    return units


def _worths(items: Sequence[tuple[int, float]], full: int, exact: bool) -> Worths:
    """Compute by number of first items and by steps the most that some of them are worth which take those.

    With ``exact`` they take just so many steps, else at most so many.
    """
    worths: Worths = np.full((len(items) + 1, full + 1), -math.inf if exact else 0.0)
    worths[0, 0] = 0.0
    for number, (size, price) in enumerate(items):
        taken = worths[number, : full + 1 - size] + price
        worths[number + 1] = worths[number]
        worths[number + 1, size:] = np.maximum(worths[number, size:], taken)
    return worths
