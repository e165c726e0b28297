"""Packing into units that may mix only so many zones, against every way to share items out."""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np
import pytest

from planner.placement.packing.pools import packed_by_zone
from planner.placement.pool_instance import SLACK, PoolInstance
from planner.solver import Limits

ROUNDS = 120
Case = tuple[PoolInstance, list[frozenset[str]], int, int]


def partitions(items: int, units: int) -> Iterator[list[list[int]]]:
    """List every way to share items out among at most so many alike units."""
    if items == 0:
        yield []
        return
    for rest in partitions(items - 1, units):
        for unit in range(len(rest)):
            yield [[*mine, items - 1] if at == unit else mine for at, mine in enumerate(rest)]
        if len(rest) < units:
            yield [*rest, [items - 1]]


def holds(instance: PoolInstance, zones: list[frozenset[str]], most: int, units: list[list[int]]) -> bool:
    """Say whether units hold what they carry, keep conflicts apart and mix no more zones than they may."""
    return all(
        (instance.sizes[unit].sum(axis=0) <= 1.0 + SLACK).all()
        and len({name for item in unit for name in zones[item]}) <= most
        and all(instance.conflicts_of(item).isdisjoint(unit) for item in unit)
        for unit in units
    )


def case(seed: int) -> Case:
    """Make six or seven items of two to four zones (now and then of two at once) for two or three units."""
    rng = random.Random(seed)
    count, names = rng.randint(6, 7), ("in", "out", "desk", "vault")[: rng.randint(2, 4)]
    sizes = np.array([[rng.uniform(0.05, 0.6) for _ in range(2)] for _ in range(count)])
    zones = [frozenset(rng.sample(names, 2 if rng.random() < 0.1 else 1)) for _ in range(count)]
    conflicts = {0: frozenset({1}), 1: frozenset({0})} if rng.random() < 0.3 else {}
    return PoolInstance(sizes, conflicts), zones, rng.randint(1, 2), rng.randint(2, 3)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(ROUNDS))
def test_units_keep_to_their_zones_and_a_no_is_true(seed: int) -> None:
    """What is found holds; and where packing says that it is impossible, no way to share out holds."""
    instance, zones, most, count = case(seed)
    packed = packed_by_zone(instance, zones, most, count, Limits(5.0))
    if packed.units is not None:
        units = [list(unit) for unit in packed.units]
        assert sorted(item for unit in units for item in unit) == list(range(instance.count))
        assert len(units) <= count
        assert holds(instance, zones, most, units)
    elif packed.impossible:
        assert not any(holds(instance, zones, most, units) for units in partitions(instance.count, count))


def test_most_that_can_be_packed_is_packed() -> None:
    """Zones held apart lose little: of the cases in which some way holds, nearly all are packed."""
    found = possible = 0
    for seed in range(ROUNDS):
        instance, zones, most, count = case(seed)
        if any(holds(instance, zones, most, units) for units in partitions(instance.count, count)):
            possible += 1
            found += packed_by_zone(instance, zones, most, count, Limits(5.0)).units is not None
    assert possible >= ROUNDS // 5
    assert found >= 0.9 * possible
