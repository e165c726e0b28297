"""Pack items into a number of alike units: quick seeded tries first, then an exact answer by HiGHS."""

from __future__ import annotations

import random
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pulp

from planner.milp import Ending, Limits, Program, run

Sizes = np.ndarray[tuple[int, int], np.dtype[np.float64]]
"""Items by dimensions, each size a share of a unit's capacity."""

SLACK = 1e-7
TRIES = 60


@dataclass(frozen=True)
class Load:
    """What is to be packed: sizes as shares of a unit, and by item those it must not meet."""

    sizes: Sizes
    foes: Mapping[int, frozenset[int]]

    @property
    def count(self) -> int:
        """The number of items."""
        return int(self.sizes.shape[0])


@dataclass(frozen=True)
class Packed:
    """Units as lists of items; or none found, and whether that is proven."""

    units: tuple[tuple[int, ...], ...] | None
    impossible: bool = False


def pack(
    load: Load, units: int, limits: Limits, cancel: threading.Event | None = None, exact_size: int = 2500
) -> Packed:
    """Pack items into at most ``units`` units; tries are seeded, the exact answer comes where it is small."""
    if load.count == 0:
        return Packed(())
    if units < least_units(load):
        return Packed(None, impossible=True)
    found = tries(load, limits.seed, units)
    if found is not None and len(found) <= units:
        return Packed(found)
    if load.count * units > exact_size:
        return Packed(None)
    return _exact(load, units, limits, cancel)


def least_units(load: Load) -> int:
    """Give how many units the sums alone ask for."""
    return int(np.ceil(load.sizes.sum(axis=0).max() - 1e-6)) if load.count else 0


def tries(load: Load, seed: int, enough: int = 0, count: int = TRIES) -> tuple[tuple[int, ...], ...] | None:
    """Give the best of several greedy packings: decreasing size under random weights, fullest unit first."""
    rng = random.Random(seed)
    best: tuple[tuple[int, ...], ...] | None = None
    total = load.sizes.sum(axis=0)
    for attempt in range(count):
        weights = total if attempt == 0 else total * np.array([rng.random() for _ in total])
        noise = np.array([1.0 + (0.1 if attempt > 1 else 0.0) * rng.random() for _ in range(load.count)])
        order = np.argsort(-(load.sizes @ weights) * noise, kind="stable")
        units = _greedy(load, order.tolist(), weights, spread=enough if attempt % 2 else 0)
        if units is not None and (best is None or len(units) < len(best)):
            best = units
        if best is not None and len(best) <= enough:
            break
    return best


def _greedy(
    load: Load, order: Sequence[int], weights: np.ndarray[tuple[int], np.dtype[np.float64]], spread: int
) -> tuple[tuple[int, ...], ...] | None:
    """Place items in order where they align best with what is left; ``spread`` opens units beforehand."""
    if float(load.sizes.max()) > 1.0 + SLACK:
        return None
    left = np.ones((max(spread, 1), load.sizes.shape[1]))
    carried: list[list[int]] = [[] for _ in range(len(left))]
    for item in order:
        size = load.sizes[item]
        fits = (left >= size - SLACK).all(axis=1)
        for unit in np.flatnonzero(fits).tolist():
            if load.foes and not load.foes.get(item, frozenset()).isdisjoint(carried[unit]):
                fits[unit] = False
        if fits.any():
            score = np.where(fits, (left - size) @ weights, np.inf)
            unit = int(
                np.argmax(np.where(fits, left @ (size * weights), -np.inf)) if spread else np.argmin(score)
            )
        else:
            left = np.vstack([left, np.ones(load.sizes.shape[1])])
            carried.append([])
            unit = len(carried) - 1
        left[unit] -= size
        carried[unit].append(item)
    return tuple(tuple(unit) for unit in carried if unit)


def _exact(load: Load, units: int, limits: Limits, cancel: threading.Event | None) -> Packed:
    program = Program()
    place = {
        (item, unit): program.binary(f"{item}@{unit}")
        for item in range(load.count)
        for unit in range(min(units, item + 1))
    }
    for item in range(load.count):
        terms = [(place[item, unit], 1.0) for unit in range(min(units, item + 1))]
        program.row(f"once:{item}", program.total(terms) == 1)
    for unit in range(units):
        here = [item for item in range(load.count) if (item, unit) in place]
        for dim in range(load.sizes.shape[1]):
            total = program.total([(place[item, unit], float(load.sizes[item, dim])) for item in here])
            program.row(f"full:{unit}/{dim}", total <= 1.0 + SLACK)
        _keep_apart(program, place, load, here, unit)
    answer = run(program, pulp.LpAffineExpression(), limits, cancel=cancel)
    if not answer.found:
        return Packed(None, impossible=answer.ending is Ending.INFEASIBLE)
    carried: list[list[int]] = [[] for _ in range(units)]
    for (item, unit), variable in place.items():
        if answer.values[variable.name] > 0.5:
            carried[unit].append(item)
    return Packed(tuple(tuple(unit) for unit in carried if unit))


def _keep_apart(
    program: Program, place: Mapping[tuple[int, int], pulp.LpVariable], load: Load, here: list[int], unit: int
) -> None:
    for item in here:
        for foe in sorted(load.foes.get(item, frozenset())):
            if foe > item and (foe, unit) in place:
                row = place[item, unit] + place[foe, unit] <= 1
                program.row(f"apart:{item}/{foe}@{unit}", row)
