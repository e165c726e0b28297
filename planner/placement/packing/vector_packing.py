"""Pack items into a number of alike units: seeded tries, then a search that repairs, then an exact answer."""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pulp

from planner.placement.column_generation.diving import Diver
from planner.placement.column_generation.restricted_master import RestrictedMaster
from planner.placement.packing.tabu_repair import repair_overload
from planner.placement.params import PARAMS
from planner.placement.pool_instance import SLACK, PoolInstance
from planner.solver import Ending, Limits, Program, run
from planner.solver.confirm import Claim, confirm
from planner.solver.standard_form import form_of


@dataclass(frozen=True)
class Packed:
    """Units as lists of items; or none found, and whether that is proven.

    ``prices`` are prices of the items of which no unit can hold more than 1 in all. ``sure``: whether that it
    is impossible rests on more than one run of a solver.
    """

    units: tuple[tuple[int, ...], ...] | None
    impossible: bool = False
    prices: tuple[float, ...] | None = None
    sure: bool = True


def pack(instance: PoolInstance, units: int, limits: Limits, cancel: threading.Event | None = None) -> Packed:
    """Pack items into at most ``units`` units; seeded, and settled exactly where that is small."""
    if instance.count == 0:
        return Packed(())
    if units < lower_bound(instance) or float(instance.sizes.max()) > 1.0 + SLACK:
        return Packed(None, impossible=True)
    found = pack_greedily(instance, limits.seed, units)
    if len(found) <= units:
        return Packed(found)
    mended = repair_overload(instance, _truncated(instance, found, units), units, limits.seed)
    if mended is not None:
        return Packed(mended)
    # Without time, what quick tries do not find stays open.
    return _pack_exactly(instance, found, units, limits, cancel) if limits.time_s > 0.0 else Packed(None)


def pack_into_few(
    instance: PoolInstance, least: int, seed: int, stop: Callable[[], bool]
) -> tuple[tuple[int, ...], ...]:
    """Search quickly for a packing into few units: the best try, then units less while it can be mended."""
    best = pack_greedily(instance, seed, least)
    while len(best) > max(least, lower_bound(instance)) and not stop():
        units = len(best) - 1
        mended = repair_overload(instance, _truncated(instance, best, units), units, seed)
        if mended is None:
            break
        best = mended
    return best


def _pack_exactly(
    instance: PoolInstance,
    found: tuple[tuple[int, ...], ...],
    units: int,
    limits: Limits,
    cancel: threading.Event | None,
) -> Packed:
    """Settle by patterns where a unit holds few items, by a whole-number programme where that is small."""
    small = instance.count * units <= PARAMS.packing.exact_size
    deadline = time.monotonic() + limits.time_s
    if instance.count <= PARAMS.packing.few_a_unit * units:
        few = replace(limits, time_s=limits.time_s if not small else limits.time_s / 2)
        packed = pack_by_patterns(instance, found, units, few, cancel)
        if packed.units is not None or packed.impossible or not small:
            return packed
    left = replace(limits, time_s=deadline - time.monotonic())
    return _pack_by_programme(instance, units, left, cancel) if small else Packed(None)


def pack_by_patterns(
    instance: PoolInstance,
    found: Sequence[tuple[int, ...]],
    units: int,
    limits: Limits,
    cancel: threading.Event | None = None,
) -> Packed:
    """Pack items into at most ``units`` units by patterns, those of a packing found before among them."""
    program = Program()
    on = program.integer("units", instance.count)
    place = [program.continuous(f"item {item}", lower=1.0) for item in range(instance.count)]
    pools = [(on, place, instance)]
    master = RestrictedMaster(
        program, 1.0 * on, {}, pools, limits, grain=1.0, good=units + 1.0, cancel=cancel
    )
    master.add(0, [*((item,) for item in range(instance.count)), *found])
    master.lower = master.summed = float(instance.sizes.sum(axis=0).max())
    master.generate_until_bound()
    prices = max((tuple(prices.tolist()) for _, prices in master.learnt_cuts()), key=sum, default=None)
    packing = next(Diver(master).solutions(), None)
    if packing is None:
        return Packed(None, master.bound > units + 0.5, prices, master.shown > units + 0.5)
    waiting = [list(alike) for alike in instance.by_class(range(instance.count))]
    columns = [
        tuple(waiting[number].pop() for number in column if waiting[number]) for _, column in packing[1]
    ]
    return Packed(tuple(unit for unit in columns if unit), prices=prices)


def lower_bound(instance: PoolInstance) -> int:
    """Compute how many units the sums alone ask for."""
    return int(np.ceil(instance.sizes.sum(axis=0).max() - 1e-6)) if instance.count else 0


def pack_greedily(
    instance: PoolInstance, seed: int, enough: int = 0, count: int = PARAMS.packing.tries
) -> tuple[tuple[int, ...], ...]:
    """Try greedy packings: decreasing size under random weights, fullest unit first; the best counts."""
    rng = np.random.default_rng(seed)
    total = instance.sizes.sum(axis=0)
    best: tuple[tuple[int, ...], ...] = tuple((item,) for item in range(instance.count))
    for attempt in range(count):
        weights = total if attempt == 0 else total * rng.random(len(total))
        noise = 1.0 + (0.1 if attempt > 1 else 0.0) * rng.random(instance.count)
        order = np.argsort(-(instance.sizes @ weights) * noise, kind="stable")
        units = _greedy(instance, order.tolist(), weights, spread=enough if attempt % 2 else 0)
        best = units if len(units) < len(best) else best
        if len(best) <= enough:
            break
    return best


def _greedy(
    instance: PoolInstance,
    order: Sequence[int],
    weights: np.ndarray[tuple[int], np.dtype[np.float64]],
    spread: int,
) -> tuple[tuple[int, ...], ...]:
    """Place items in order, best fit; with ``spread`` units open beforehand, where they align best."""
    left = np.ones((max(spread, 1), instance.sizes.shape[1]))
    carried: list[list[int]] = [[] for _ in range(len(left))]
    for item in order:
        size = instance.sizes[item]
        fits = (left >= size - SLACK).all(axis=1)
        if instance.conflicts:
            others = instance.conflicts_of(item)
            fits &= np.array([others.isdisjoint(unit) for unit in carried])
        if fits.any():
            score = -(left @ (size * weights)) if spread else (left - size) @ weights
            unit = int(np.argmin(np.where(fits, score, np.inf)))
        else:
            left = np.vstack([left, np.ones(instance.sizes.shape[1])])
            carried.append([])
            unit = len(carried) - 1
        left[unit] -= size
        carried[unit].append(item)
    return tuple(tuple(unit) for unit in carried if unit)


def _truncated(instance: PoolInstance, found: Sequence[Sequence[int]], units: int) -> list[int]:
    """Choose a unit for each item: the fullest units keep theirs, the rest is dealt out in turn."""
    by_size = sorted(found, key=lambda unit: -float(instance.sizes[list(unit)].sum()))
    place = [0] * instance.count
    loose = [item for unit in by_size[units:] for item in unit]
    for index, unit in enumerate(by_size[:units]):
        for item in unit:
            place[item] = index
    rng = random.Random(len(loose))
    for item in loose:
        place[item] = rng.randrange(units)
    return place


def _pack_by_programme(
    instance: PoolInstance, units: int, limits: Limits, cancel: threading.Event | None
) -> Packed:
    program = Program()
    place = {
        (item, unit): program.binary(f"{item}@{unit}")
        for item in range(instance.count)
        for unit in range(min(units, item + 1))
    }
    for item in range(instance.count):
        terms = [(place[item, unit], 1.0) for unit in range(min(units, item + 1))]
        program.row(f"once:{item}", program.total(terms) == 1)
    for unit in range(units):
        here = [item for item in range(instance.count) if (item, unit) in place]
        for dim in range(instance.sizes.shape[1]):
            total = program.total([(place[item, unit], float(instance.sizes[item, dim])) for item in here])
            program.row(f"full:{unit}/{dim}", total <= 1.0 + SLACK)
        _keep_apart(program, place, instance, here, unit)
    seconds = min(limits.time_s, PARAMS.packing.exact_s)
    nothing, given = pulp.LpAffineExpression(), Limits(seconds, seed=limits.seed)
    answer = run(program, nothing, given, cancel=cancel)
    if answer.ending is Ending.INFEASIBLE:
        claim = Claim(form_of(program.variables, nothing, program.rows))
        verdict = confirm(claim, replace(given, time_s=min(seconds, PARAMS.packing.confirm_s)), cancel)
        return Packed(None, verdict.refuted_by is None, sure=verdict.shown_by is not None)
    if not answer.found:
        return Packed(None)
    carried: list[list[int]] = [[] for _ in range(units)]
    for (item, unit), variable in place.items():
        if answer.values[variable.name] > 0.5:
            carried[unit].append(item)
    return Packed(tuple(tuple(unit) for unit in carried if unit))


def _keep_apart(
    program: Program,
    place: Mapping[tuple[int, int], pulp.LpVariable],
    instance: PoolInstance,
    here: list[int],
    unit: int,
) -> None:
    for item in here:
        for other in sorted(instance.conflicts_of(item)):
            if other > item and (other, unit) in place:
                row = place[item, unit] + place[other, unit] <= 1
                program.row(f"apart:{item}/{other}@{unit}", row)
