"""Pools of alike units in a programme, and what of its rows and prices speaks of one pool alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pulp

from planner.solver.program import Program

Prices = np.ndarray[tuple[int], np.dtype[np.float64]]
Indices = np.ndarray[tuple[int], np.dtype[np.int64]]
Grid = np.ndarray[tuple[int, int], np.dtype[np.float64]]


@dataclass(frozen=True)
class Pool:
    """A pool of alike units in a programme: how many are on, and which items go there, by their class.

    A row in which only items of the pool take and only its units give has to hold for every single unit.
    """

    on: pulp.LpVariable
    place: tuple[tuple[pulp.LpVariable, ...], ...]


@dataclass(frozen=True)
class Own:
    """What of a programme is a pool's own: its variables, and the rows that hold for every single unit.

    ``rows`` are numbers of rows, ``units`` and ``items`` their coefficients. ``free`` says of the units and
    of each item whether there may be none: what is there in any case adds its reduced cost to the value.
    """

    on: int
    place: Indices
    class_of: Indices
    free: Prices
    rows: Indices
    units: Prices
    items: Grid

    def whole(self, unit: float, items: Prices, reduced: Prices, duals: Prices) -> tuple[float, Prices]:
        """Compute the whole price of a unit and of its items, by class.

        ``unit`` and ``items`` are what the columns' own rows price, ``reduced`` and ``duals`` those of all
        variables and rows. Of a class the dearest item counts, and none counts under 0.
        """
        held = duals[self.rows]
        added = self.free * np.maximum(reduced[[self.on, *self.place]], 0.0)
        whole = np.zeros(len(items))
        np.maximum.at(whole, self.class_of, items[self.class_of] - added[1:] - held @ self.items)
        return unit + float(added[0] + held @ self.units), whole


def owned(program: Program, rows: Mapping[str, pulp.LpConstraint], pools: Sequence[Pool]) -> list[Own]:
    """Compute what is each pool's own."""
    index = {variable: number for number, variable in enumerate(program.variables)}
    found = []
    for pool in pools:
        place = [variable for alike in pool.place for variable in alike]
        at = {variable: number for number, variable in enumerate(place)}
        own = [number for number, row in enumerate(rows.values()) if _is_own(row, pool.on, at)]
        units, items = np.zeros(len(own)), np.zeros((len(own), len(place)))
        written = list(rows.values())
        for number, row in enumerate(own):
            for variable, coefficient in written[row].items():
                if variable in at:
                    items[number, at[variable]] = coefficient
                else:
                    units[number] = coefficient
        found.append(
            Own(
                index[pool.on],
                np.array([index[variable] for variable in place], np.int64),
                np.repeat(np.arange(len(pool.place)), [len(alike) for alike in pool.place]),
                np.array([variable.lowBound == 0 for variable in (pool.on, *place)], float),
                np.array(own, np.int64),
                units,
                items,
            )
        )
    return found


def _is_own(row: pulp.LpConstraint, on: pulp.LpVariable, place: Mapping[pulp.LpVariable, int]) -> bool:
    """Say whether in a row nothing but items of one pool takes, and nothing but its units gives."""
    if row.sense == pulp.LpConstraintEQ or row.constant != 0.0:
        return False
    gives = -1.0 if row.sense == pulp.LpConstraintLE else 1.0
    return all(
        coefficient * gives >= 0.0 if variable is on else variable in place and coefficient * gives <= 0.0
        for variable, coefficient in row.items()
    )
