"""What a packing that failed teaches about a pool, as rows that hold for every plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import pulp

from planner.placement.formulation import Model


@dataclass(frozen=True)
class Cut:
    """The units of a pool are at least ``least`` plus the sum of prices of the items there.

    Prices that no unit's items can sum to more than 1 of, with ``least`` 0; or price 1 for each of a set
    of items and ``least`` = units they need less their number, for taking one away saves a unit at most.
    ``sure``: whether it rests on more than one run of a solver.
    """

    slot: str
    prices: Mapping[int, float]
    least: float = 0.0
    sure: bool = True


def cut_rows(model: Model, cuts: Iterable[Cut]) -> dict[str, pulp.LpConstraint]:
    """Write cuts as rows of a model; cuts on pools it does not have are left out."""
    rows: dict[str, pulp.LpConstraint] = {}
    for number, cut in enumerate(cuts):
        if cut.slot not in model.on:
            continue
        terms = [
            (model.place[item, cut.slot], -price)
            for item, price in cut.prices.items()
            if price > 1e-9 and (item, cut.slot) in model.place
        ]
        row = model.program.total([(model.on[cut.slot], 1.0), *terms]) >= cut.least - 1e-7
        rows[_name(number, cut)] = row
    return rows


def unsure_rows(cuts: Iterable[Cut]) -> frozenset[str]:
    """Look up the names of the rows that rest on one run of a solver alone."""
    return frozenset(_name(number, cut) for number, cut in enumerate(cuts) if not cut.sure)


def _name(number: int, cut: Cut) -> str:
    return f"packing {number}:{cut.slot}"
