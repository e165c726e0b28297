"""The arc-flow model against the least cost of all packings, on instances small enough for a table."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import Any

import numpy as np
import pulp
import pytest

from planner.domain.rules import Aim
from planner.placement.column_generation.restricted_master import RestrictedMaster
from planner.placement.formulation.question_model import Question, QuestionModel
from planner.placement.optimise.pattern_question import build_master, solve_by_patterns
from planner.placement.params import DivingParams
from planner.placement.pool_instance import PoolInstance
from planner.placement.studies.packing_instance import site_of
from planner.solver import Ending, Limits, Program
from tests.benchmarks import recipes
from tests.placement.column_generation.tables import cheapest_by_set, members_of

ASKED = Question(Aim.COST, minimise=True)
LIMITS = Limits(30.0)

INSTANCES = [
    *(recipes.kinds(3, 10, seed=seed) for seed in range(6)),
    *(recipes.kinds(5, 10, low=1, seed=seed) for seed in range(6)),
]


def _priced(instance: dict[str, Any]) -> RestrictedMaster:
    master, _ = build_master(QuestionModel(site_of(instance)), ASKED, math.inf, None, LIMITS)
    master.generate_all()
    return master


@pytest.mark.slow
@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: str(instance["name"]))
def test_ways_find_the_least_cost_and_refuse_less(instance: dict[str, Any]) -> None:
    """With all that has a chance of the least cost it is found, and nothing under it."""
    master, least = _priced(instance), cheapest_by_set(instance)[-1]
    priced = master.generate_all()
    assert priced is not None
    arc_flow = master.arc_flow(priced, least)
    assert arc_flow is not None
    assert len(arc_flow.graphs) == 1
    answer, taken = arc_flow.solve(LIMITS, least + 1.0)
    assert answer.found
    assert answer.objective == pytest.approx(least)
    sizes = [item["size"][0] for item in instance["items"]]
    held = [instance.by_class(instance.sizes[:, 0].tolist()) for instance in master.instances]
    assert all(sum(held[pool][sort][0] for sort in column) <= 1.0 + 1e-6 for pool, column in taken)
    assert sum(len(column) for _, column in taken) == len(sizes)
    refused, _ = arc_flow.solve(LIMITS, least - 1.0)
    assert refused.ending is Ending.INFEASIBLE


@pytest.mark.slow
@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: str(instance["name"]))
def test_a_master_that_may_list_nothing_is_settled_by_arc_flow(
    instance: dict[str, Any],
) -> None:
    """Where no pattern is listed, value and bound still are the least cost."""
    none = DivingParams(fewest_patterns=0, few_patterns=0, many_patterns=0)
    site = site_of(instance)
    found = list(solve_by_patterns(QuestionModel(site), ASKED, math.inf, None, LIMITS, params=none))
    least = cheapest_by_set(instance)[-1]
    costs = [
        sum(site.kind[key.split("/")[0]].price * len(units) for key, units in joined.units.items())
        for joined in found
        if joined.values
    ]
    assert costs[-1] == pytest.approx(least)
    assert found[-1].bound == pytest.approx(least)
    carried = [item.name for units in found[-2].units.values() for unit in units for item in unit]
    assert sorted(carried) == sorted(service.name for service in site.services)


@pytest.mark.parametrize("seed", range(10))
def test_what_else_binds_pools_stays_bound(seed: int) -> None:
    """Two pools, at most one unit of one, and items that cost more in the other: as cheap as trying all."""
    rng = random.Random(seed)
    sizes = [rng.randint(1, 7) for _ in range(8)]
    extra = [rng.randint(0, 3) for _ in sizes]
    master, least = _coupled(sizes, extra), _least(sizes, extra)
    priced = master.generate_all()
    assert priced is not None
    arc_flow = master.arc_flow(priced, least)
    assert arc_flow is not None
    assert len(arc_flow.graphs) == 2
    answer, taken = arc_flow.solve(LIMITS, least)
    assert answer.objective == pytest.approx(least)
    assert sum(pool == 0 for pool, _ in taken) <= 1
    assert arc_flow.solve(LIMITS, least - 0.5)[0].ending is Ending.INFEASIBLE


def _coupled(sizes: Sequence[int], extra: Sequence[int]) -> RestrictedMaster:
    program = Program()
    on = [program.integer("on a", 1), program.integer("on b", len(sizes))]
    place = [[program.binary(f"{item} in {pool}") for item in range(len(sizes))] for pool in "ab"]
    for item, (one, other) in enumerate(zip(*place, strict=True)):
        program.row(f"once {item}", one + other == 1)
    costs = [(on[0], 10.0), (on[1], 7.0), *zip(place[1], map(float, extra), strict=True)]
    instance = [PoolInstance(np.array(sizes, float)[:, None] / full, {}) for full in (10, 7)]
    pools = list(zip(on, place, instance, strict=True))
    master = RestrictedMaster(program, program.total(costs), {**program.rows}, pools, LIMITS, grain=1.0)
    for pool in range(2):
        master.add(pool, ((item,) for item in range(len(sizes))))
    return master


def _least(sizes: Sequence[int], extra: Sequence[int]) -> float:
    every = {"items": [{"size": [size]} for size in sizes], "conflicts": []}
    units = [cheapest_by_set(every | {"bins": [{"cap": [full], "cost": 1}]}) for full in (10, 7)]
    full = 2 ** len(sizes) - 1
    costs = (
        10.0 * units[0][here] + 7.0 * units[1][full - here] + sum(extra[i] for i in members_of(full - here))
        for here in range(full + 1)
        if units[0][here] <= 1.0
    )
    return float(min(costs))


@pytest.mark.parametrize(
    ("sizes", "conflicts"),
    [
        ([[0.5, 0.2], [0.3, 0.9], [0.4, 0.4]], {}),
        ([[0.5], [0.3], [0.4]], {0: frozenset({1}), 1: frozenset({0})}),
        ([[math.sqrt(0.1)], [math.sqrt(0.2)], [math.sqrt(0.3)]], {}),
        ([[0.5], [0.3], [0.0]], {}),
    ],
    ids=["two resources", "conflicts", "no common step", "nothing"],
)
def test_where_ways_cannot_be_written_there_are_none(
    sizes: list[list[float]], conflicts: dict[int, frozenset[int]]
) -> None:
    """Several resources, conflicts, and sizes of no common step are left to patterns."""
    program, instance = Program(), PoolInstance(np.array(sizes), conflicts)
    on = program.integer("on", 3)
    place = [program.continuous(f"item {item}", lower=1.0) for item in range(3)]
    master = RestrictedMaster(
        program, pulp.LpAffineExpression({on: 1.0}), {}, [(on, place, instance)], LIMITS
    )
    master.add(0, ((item,) for item in range(3)))
    priced = master.generate_all()
    assert priced is not None
    assert master.arc_flow(priced, 3.0) is None


@pytest.mark.slow
@pytest.mark.parametrize("rounded", [False, True])
@pytest.mark.parametrize("seed", range(5))
def test_ways_taken_apart_hold_every_item_once(seed: int, rounded: bool) -> None:
    """Units taken in advance and paths together carry all items, in bins that cost no more than is told."""
    instance = recipes.kinds(5, 30, low=1, seed=seed)
    master = _priced(instance)
    priced = master.generate_all()
    assert priced is not None
    arc_flow = master.arc_flow(priced, 1.1 * priced.value, rounded)
    assert arc_flow is not None
    answer, taken = arc_flow.solve(LIMITS, 1.1 * priced.value)
    assert answer.found
    assert sum(len(column) for _, column in taken) == len(instance["items"])
    costs = [float(bin_["cost"]) for bin_ in instance["bins"]]
    assert sum(costs[pool] for pool, _ in taken) <= answer.objective + 1e-6
    for pool, column in taken:
        sizes = master.instances[pool].by_class(master.instances[pool].sizes[:, 0].tolist())
        assert sum(sizes[sort][0] for sort in column) <= 1.0 + 1e-6
    assert any(each.taken for each in arc_flow.graphs) == rounded
