"""Patterns priced and put together, against trying everything on loads small enough for it."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterator, Mapping
from functools import partial
from typing import Any

import numpy as np
import pytest

from planner.domain.machines import Kind
from planner.domain.rules import Aim
from planner.placement.column_generation.pricing import Knapsack, weights_for
from planner.placement.formulation.question_model import Question, QuestionModel
from planner.placement.optimise.pattern_question import PatternAnswer, solve_by_patterns
from planner.placement.packing.vector_packing import pack_by_patterns, pack_greedily
from planner.placement.pool_instance import SLACK, PoolInstance
from planner.placement.studies.packing_instance import site_of
from planner.solver import Limits
from tests.benchmarks import recipes
from tests.placement.column_generation.tables import cheapest_by_set

SECONDS = 30.0

Row = np.ndarray[tuple[int], np.dtype[np.float64]]


def _never() -> bool:
    return False


def _instance(seed: int, items: int = 9) -> PoolInstance:
    """Make items of one to four resources, some of them alike, and some pairs that must not meet."""
    rng = random.Random(seed)
    dims = rng.randint(1, 4)
    classes = [[rng.randint(5, 70) / 100 for _ in range(dims)] for _ in range(rng.choice((3, items)))]
    sizes = np.array([rng.choice(classes) for _ in range(items)])
    conflicts: dict[int, set[int]] = {}
    for one, other in itertools.combinations(range(items), 2):
        if rng.random() < 0.1:
            conflicts.setdefault(one, set()).add(other)
            conflicts.setdefault(other, set()).add(one)
    return PoolInstance(sizes, {item: frozenset(others) for item, others in conflicts.items()})


def _patterns(instance: PoolInstance) -> Iterator[tuple[int, ...]]:
    """List every set of items that one unit can carry."""
    for count in range(1, instance.count + 1):
        for pattern in itertools.combinations(range(instance.count), count):
            fits = (instance.sizes[list(pattern)].sum(axis=0) <= 1.0 + SLACK).all()
            if fits and all(instance.conflicts_of(item).isdisjoint(pattern) for item in pattern):
                yield pattern


def _prices(instance: PoolInstance, seed: int) -> Row:
    return np.random.default_rng(seed).random(instance.classes)


@pytest.mark.parametrize("seed", range(40))
def test_nothing_worth_more_is_missed(seed: int) -> None:
    """The dearest pattern of all is listed, at its worth."""
    instance = _instance(seed)
    by_item = _prices(instance, seed)[instance.class_of]
    best = max(float(by_item[list(pattern)].sum()) for pattern in _patterns(instance))
    listed = Knapsack(instance, _prices(instance, seed)).find(best - 1e-9, _never, 10**6, beam=False)
    assert listed.complete
    assert listed.most == pytest.approx(best)
    assert max(listed.worths) == pytest.approx(best)
    for pattern, worth in zip(listed.patterns, listed.worths, strict=True):
        assert pattern in set(_patterns(instance))
        assert worth == pytest.approx(float(by_item[list(pattern)].sum()))


@pytest.mark.parametrize("seed", range(40))
def test_the_list_of_all_is_that_of_trying_all(seed: int) -> None:
    """All patterns over a worth to which nothing can be added, told apart by the classes of their items."""
    instance = _instance(seed, items=8)
    by_item = _prices(instance, seed)[instance.class_of]
    every = set(_patterns(instance))
    whole = {
        instance.class_pattern(pattern)
        for pattern in every
        if by_item[list(pattern)].sum() >= 0.7
        and not any(tuple(sorted({*pattern, other})) in every for other in set(range(8)) - set(pattern))
    }
    knapsack = Knapsack(instance, _prices(instance, seed), every=True)
    listed = knapsack.find(0.7, _never, 10**6, beam=False, maximal=True)
    assert listed.complete
    assert {instance.class_pattern(pattern) for pattern in listed.patterns} == whole


@pytest.mark.parametrize("seed", range(40))
def test_a_narrow_search_still_bounds_the_worth(seed: int) -> None:
    """However few patterns are gone on with, none is worth more than what is said."""
    instance = _instance(seed)
    by_item = _prices(instance, seed)[instance.class_of]
    best = max(float(by_item[list(pattern)].sum()) for pattern in _patterns(instance))
    for width in (1, 3, 10):
        listed = Knapsack(instance, _prices(instance, seed)).find(0.1, _never, width, beam=True)
        assert listed.most >= best - 1e-9
        if not listed.complete:
            assert listed.most >= max(listed.worths, default=0.0)


@pytest.mark.parametrize("looks", [0, 1, 2, 3])
def test_a_search_that_is_stopped_bounds_what_it_missed(looks: int) -> None:
    """Whenever the clock ends it, no pattern is worth more than what is said."""
    for seed in range(10):
        instance = _instance(seed)
        by_item = _prices(instance, seed)[instance.class_of]
        best = max(float(by_item[list(pattern)].sum()) for pattern in _patterns(instance))
        clock = partial(next, iter([False] * looks), True)
        listed = Knapsack(instance, _prices(instance, seed)).find(0.1, clock, 10**6, beam=True)
        assert listed.most >= best - 1e-9
        assert not listed.complete or best == pytest.approx(max(listed.worths))


def test_weights_bound_no_worse_than_each_resource_alone() -> None:
    """The bound by weights is at most that of the best single resource, up to the length of the steps."""
    for seed in range(20):
        instance = _instance(seed, items=30)
        prices = np.random.default_rng(seed).random(30)

        alone = [_bounded(instance, prices, weights) for weights in np.eye(instance.sizes.shape[1])]
        assert _bounded(instance, prices, weights_for(instance.sizes, prices)) <= 1.02 * min(alone)


def _bounded(instance: PoolInstance, prices: Row, weights: Row) -> float:
    """Compute the least bound that weights in this proportion give: each item is worth its price at most."""
    bounds = []
    for scale in np.linspace(0.0, 8.0, 161) / weights.sum():
        over = prices - instance.sizes @ (scale * weights)
        bounds.append(float(scale * weights.sum() + over[over > 0.0].sum()))
    return min(bounds)


INSTANCES = [
    *(recipes.kinds(3, 10, seed=seed) for seed in range(4)),
    *(recipes.kinds(5, 10, low=1, seed=seed) for seed in range(4)),
    *(recipes.conflicting(10, density, True, seed) for seed in range(4) for density in (0.3, 0.7)),
    *(recipes.conflicting(10, 0.5, False, seed) for seed in range(2)),
    *(recipes.uniform(number, 10, 3, 0) for number in (1, 2, 3, 6)),
]


@pytest.mark.slow
@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: str(instance["name"]))
def test_patterns_prove_the_least_cost(instance: dict[str, Any]) -> None:
    """One master over all kinds of host, with no plan to begin with: value and bound are the least cost."""
    site = site_of(instance)
    found = list(
        solve_by_patterns(
            QuestionModel(site), Question(Aim.COST, minimise=True), math.inf, None, Limits(SECONDS)
        )
    )
    costs = [_cost(site.kind, joined) for joined in found if joined.values]
    least = cheapest_by_set(instance)[-1]
    assert costs[-1] == pytest.approx(least)
    assert found[-1].bound == pytest.approx(least)
    carried = [item.name for units in found[-2].units.values() for unit in units for item in unit]
    assert sorted(carried) == sorted(service.name for service in site.services)


def _cost(kinds: Mapping[str, Kind], joined: PatternAnswer) -> float:
    return sum(kinds[key.split("/")[0]].price * len(units) for key, units in joined.units.items())


@pytest.mark.parametrize("seed", range(12))
def test_packing_by_patterns_is_settled(seed: int) -> None:
    """Into the least number of units items are packed, and into one less they are proven not to pack."""
    instance = _instance(seed, items=10)
    fitting = [False] * 2**10
    for pattern in _patterns(instance):
        fitting[sum(1 << item for item in pattern)] = True
    least = _least_units(fitting)
    packed = pack_by_patterns(instance, pack_greedily(instance, 0), least, Limits(SECONDS))
    assert packed.units is not None
    assert sorted(item for unit in packed.units for item in unit) == list(range(10))
    assert len(packed.units) == least
    assert all(fitting[sum(1 << item for item in unit)] for unit in packed.units)
    refused = pack_by_patterns(instance, pack_greedily(instance, 0), least - 1, Limits(SECONDS))
    assert refused.units is None
    assert refused.impossible


def _least_units(fitting: list[bool]) -> int:
    best = [0] + [len(fitting)] * (len(fitting) - 1)
    for members in range(1, len(fitting)):
        part = members
        while part:
            if fitting[part]:
                best[members] = min(best[members], 1 + best[members ^ part])
            part = (part - 1) & members
    return best[-1]
