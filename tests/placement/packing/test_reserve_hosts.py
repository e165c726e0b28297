"""Pools packed with units that stand by: whatever a unit carries fits on one that stands by."""

from __future__ import annotations

import random

import numpy as np
import pytest

from planner.placement.packing.reserve_hosts import pack_into_with_reserve
from planner.placement.packing.vector_packing import lower_bound
from planner.placement.pool_instance import SLACK, PoolInstance
from planner.solver import Limits

NOW = Limits(time_s=0.0)


def _instance(seed: int, items: int, largest: float) -> PoolInstance:
    rng = random.Random(seed)
    sizes = np.array([[rng.uniform(0.02, largest) for _ in range(3)] for _ in range(items)])
    return PoolInstance(sizes, {})


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("spare", [1, 2])
def test_what_a_unit_carries_fits_where_another_stands_by(seed: int, spare: int) -> None:
    """With room to spare all items are there once, as many units as may be lost carry one item, and
    what each of the others carries fits beside such an item."""
    instance = _instance(seed, items=40, largest=0.4)
    most = lower_bound(instance) + 8 + spare
    packed = pack_into_with_reserve(instance, most, spare, NOW)
    assert packed is not None
    assert packed.units is not None
    assert sorted(item for unit in packed.units for item in unit) == list(range(instance.count))
    assert len(packed.units) <= most
    filled, waiting = packed.units[:-spare], packed.units[-spare:]
    assert all(len(unit) == 1 for unit in waiting)
    for unit in filled:
        assert any((instance.sizes[[*unit, *place]].sum(axis=0) <= 1.0 + SLACK).all() for place in waiting)


def test_less_units_than_there_may_be_are_taken() -> None:
    """A packing into less units than are asked for is as good."""
    instance = PoolInstance(np.full((6, 1), 0.1), {})
    packed = pack_into_with_reserve(instance, 6, 1, NOW)
    assert packed is not None
    assert packed.units is not None
    assert [len(unit) for unit in packed.units] == [5, 1]


def test_no_unit_can_stand_by_where_all_are_needed() -> None:
    """Items that fill every unit leave none to stand by."""
    instance = PoolInstance(np.full((4, 1), 0.9), {})
    assert pack_into_with_reserve(instance, 4, 1, NOW) is None
    assert pack_into_with_reserve(instance, 1, 1, NOW) is None
