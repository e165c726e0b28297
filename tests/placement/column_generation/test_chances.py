"""What prices say of a single unit, against the least cost of all plans that have such a unit."""

from __future__ import annotations

import math
from typing import Any

import pytest

from planner.domain.rules import Aim
from planner.placement.column_generation.restricted_master import RestrictedMaster
from planner.placement.formulation.question_model import Question, QuestionModel
from planner.placement.optimise.pattern_question import PooledSlot, build_master
from planner.placement.studies.packing_instance import site_of
from planner.solver import Limits
from tests.benchmarks import recipes
from tests.placement.column_generation.tables import cheapest_by_set, fits, members_of

INSTANCES = [
    *(recipes.kinds(3, 9, seed=seed) for seed in range(4)),
    *(recipes.kinds(5, 9, low=1, seed=seed) for seed in range(4)),
    *(recipes.conflicting(9, 0.5, True, seed) for seed in range(3)),
    *(recipes.uniform(number, 9, 2, 0) for number in (1, 6)),
]

SMALL = 1e-6


def _master(instance: dict[str, Any]) -> tuple[RestrictedMaster, list[PooledSlot]]:
    question = Question(Aim.COST, minimise=True)
    return build_master(QuestionModel(site_of(instance)), question, math.inf, None, Limits(30.0))


def _column(pooled: PooledSlot, items: list[int]) -> tuple[int, ...] | None:
    """List items as a pattern of a pool, None where one of them cannot go there."""
    place = {item.name: number for number, item in enumerate(pooled.items)}
    names = [f"item-{item}" for item in items]
    return tuple(place[name] for name in names) if all(name in place for name in names) else None


@pytest.mark.slow
@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: str(instance["name"]))
def test_a_unit_costs_what_prices_say_or_more(instance: dict[str, Any]) -> None:
    """No plan with a unit is cheaper than the relaxation and what the unit is over its items."""
    master, parts = _master(instance)
    priced = master.generate_all()
    assert priced is not None
    assert master.closed
    best = cheapest_by_set(instance)
    looked_at = 0
    for pool, pooled in enumerate(parts):
        bin_ = next(b for n, b in enumerate(instance["bins"], 1) if pooled.slot.key.startswith(f"bin-{n}/"))
        unit, prices = priced.whole[pool]
        for members in range(1, len(best)):
            column = _column(pooled, members_of(members))
            if column is None or not fits(instance, bin_, members_of(members)):
                continue
            looked_at += 1
            cheapest = float(bin_["cost"]) + best[len(best) - 1 - members]
            over = unit - sum(prices[pooled.instance.class_of[item]] for item in column)
            assert priced.value + over <= cheapest + SMALL
    assert looked_at > 9


@pytest.mark.slow
@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: str(instance["name"]))
def test_no_unit_of_a_best_plan_is_without_a_chance(instance: dict[str, Any]) -> None:
    """Every unit of every best plan is held by a pattern that has a chance of the least cost."""
    master, parts = _master(instance)
    priced = master.generate_all()
    assert priced is not None
    best = cheapest_by_set(instance)
    chances = master.patterns_within_gap(priced, best[-1], 10**6)
    assert chances is not None
    for pool, pooled in enumerate(parts):
        bin_ = next(b for n, b in enumerate(instance["bins"], 1) if pooled.slot.key.startswith(f"bin-{n}/"))
        for members in range(1, len(best)):
            items = members_of(members)
            is_best = float(bin_["cost"]) + best[len(best) - 1 - members] <= best[-1] + SMALL
            if is_best and fits(instance, bin_, items):
                column = _column(pooled, items)
                assert column is not None
                wanted = pooled.instance.class_pattern(column)
                assert any(at == pool and _holds(held, wanted) for at, held in chances)


def _holds(held: tuple[int, ...], wanted: tuple[int, ...]) -> bool:
    return all(held.count(sort) >= wanted.count(sort) for sort in wanted)
