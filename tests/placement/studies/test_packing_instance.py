"""Packing instances as sites: the cheapest plan is the cheapest packing, judged like any plan."""

from __future__ import annotations

import itertools
import json
import math
import random
from collections.abc import Mapping
from typing import Any

import pytest

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.packing_instance import site_of
from planner.verify import verify_plan
from tests.benchmarks import recipes
from tests.benchmarks.generated import generated_site
from tests.benchmarks.peers import runner
from tests.benchmarks.peers.child import Job
from tests.benchmarks.peers.first_fit import first_fit
from tests.benchmarks.peers.runner import SIDES, run
from tests.benchmarks.peers.tasks import filling_of, task_of, task_of_site
from tests.reference.tables import outside

SECONDS = 60.0
SMALL = 24
"""Items up to which published instances are solved here; the race takes the others."""


def _drawn(seed: int) -> dict[str, Any]:
    """Collect an instance that can be tried out: up to 7 items, 1 to 5 resources, 1 to 3 kinds, conflicts."""
    rng = random.Random(seed)
    dims, count = rng.randint(1, 5), rng.randint(3, 7)
    items = [{"size": [rng.randint(1, 60) for _ in range(dims)], "count": 1} for _ in range(count)]
    if rng.random() < 0.3:
        items[-1]["count"] = 2
        items.pop(0)
    bins = [{"cap": [rng.randint(70, 110) for _ in range(dims)], "cost": rng.randint(5, 12)}]
    for _ in range(rng.randint(0, 2)):
        cheap = {"cap": [rng.randint(20, 90) for _ in range(dims)], "cost": rng.randint(1, 8)}
        bins.append(cheap | ({"available": 1} if rng.random() < 0.5 else {}))
    pairs = list(itertools.combinations(range(len(items)), 2))
    return {
        "dims": dims,
        "bins": bins,
        "items": items,
        "conflicts": [list(pair) for pair in pairs if rng.random() < 0.25],
    }


def _least(instance: Mapping[str, Any]) -> float:
    """Compute the least cost by trying every way to share the items out, each part in its own bin."""
    singles = [
        (number, item["size"]) for number, item in enumerate(instance["items"]) for _ in range(item["count"])
    ]
    foes = {frozenset(pair) for pair in instance["conflicts"]}
    best = math.inf
    for parts in _partitions(list(range(len(singles)))):
        if not any(
            frozenset((singles[a][0], singles[b][0])) in foes
            for part in parts
            for a, b in itertools.combinations(part, 2)
        ):
            loads = [
                [sum(column) for column in zip(*(singles[i][1] for i in part), strict=True)] for part in parts
            ]
            best = min(best, _cheapest(instance["bins"], loads))
    return best


def _partitions(left: list[int]) -> list[list[list[int]]]:
    if not left:
        return [[]]
    found = []
    for parts in _partitions(left[1:]):
        found.append([[left[0]], *parts])
        found += [[*parts[:n], [left[0], *part], *parts[n + 1 :]] for n, part in enumerate(parts)]
    return found


def _cheapest(bins: list[dict[str, Any]], loads: list[list[int]], used: tuple[int, ...] = ()) -> float:
    if len(used) == len(loads):
        return math.fsum(bins[number]["cost"] for number in used)
    fitting = [
        number
        for number, bin_ in enumerate(bins)
        if all(load <= most for load, most in zip(loads[len(used)], bin_["cap"], strict=True))
        and used.count(number) < bin_.get("available", math.inf)
    ]
    return min((_cheapest(bins, loads, (*used, number)) for number in fitting), default=math.inf)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(30))
def test_the_cheapest_plan_is_the_cheapest_packing(seed: int) -> None:
    """On instances small enough to try every packing, with kinds, costs, numbers and conflicts."""
    instance = _drawn(seed)
    site = site_of(instance)
    result = solve(site, Options(time_s=SECONDS))
    assert result.plan is not None
    assert result.outcome is Outcome.PROVEN
    assert verify_plan(site, result.plan) == ()
    assert result.plan.aims[0].aim is Aim.COST
    assert result.plan.aims[0].value == pytest.approx(_least(instance))
    assert all(machine.box is None for machine in result.plan.state.machines)


def test_triplets_are_packed_to_the_brim() -> None:
    """Recipe triplets fill a third as many bins as there are items, none less."""
    result = solve(site_of(recipes.triplets(30, 2)), Options(time_s=SECONDS))
    assert result.plan is not None
    assert result.plan.aims[0].value == 10.0
    assert result.plan.proven


def test_hours_come_resource_after_resource() -> None:
    """Two items that peak at different hours share a bin in which their peaks' sum has no room."""
    morning, evening = [9.0] * 12 + [1.0] * 12, [1.0] * 12 + [9.0] * 12
    flat = [4.0] * 24
    instance = {
        "dims": 48,
        "bins": [{"cap": [10.0] * 24 + [8.0] * 24, "cost": 3}],
        "items": [{"size": morning + flat, "count": 1}, {"size": evening + flat, "count": 1}],
    }
    site = site_of(instance)
    assert site.slots == 24
    assert site.services[0].demand.memory_gib == tuple(flat)
    result = solve(site, Options(time_s=SECONDS))
    assert result.plan is not None
    assert result.plan.aims[0].value == 3.0


def test_conflicts_become_few_rules() -> None:
    """Three items that all conflict are one rule; two items that conflict in copies keep all copies apart."""
    item = {"size": [1], "count": 1}
    bins = [{"cap": [10], "cost": 1}]
    clique = {"dims": 1, "bins": bins, "items": [item] * 3, "conflicts": [[0, 1], [1, 2], [0, 2]]}
    assert [rule.services for rule in site_of(clique).apart] == [frozenset({"item-0", "item-1", "item-2"})]
    copied = {"dims": 1, "bins": bins, "items": [item, {"size": [1], "count": 2}], "conflicts": [[0, 1]]}
    apart = [rule.services for rule in site_of(copied).apart]
    assert sorted(map(sorted, apart)) == [["item-0", "item-1.1"], ["item-0", "item-1.2"]]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"dims": 7}, "a size of 7 figures"),
        ({"dims": 0}, "a size of 0 figures"),
        ({"items": [{"size": [1, 2], "count": 1}]}, "item 0 has a size of 2 figures instead of 1"),
        ({"items": [{"size": [-3], "count": 1}]}, "item 0 has a size of -3, and no size is below 0"),
        ({"bins": [{"cap": [1, 2], "cost": 1}]}, "bin 1 has a capacity of 2 figures instead of 1"),
        (
            {"dims": 24, "bins": [{"cap": [*range(1, 25)], "cost": 1}], "items": []},
            "changes from hour to hour",
        ),
    ],
)
def test_what_is_no_instance_is_refused(change: dict[str, Any], words: str) -> None:
    """The sentence says which item or bin, and what is wrong with it."""
    good = {"dims": 1, "bins": [{"cap": [10], "cost": 1}], "items": [{"size": [1], "count": 1}]}
    with pytest.raises(ValueError, match=words):
        site_of(good | change)


@pytest.mark.slow
def test_published_instances_reach_the_known_optimum() -> None:
    """Those of up to 24 items; they are read where they lie, and are no part of the project."""
    instances = [json.loads(path.read_text()) for path in sorted(outside("bench").glob("*/*.json"))]
    small = [each for each in instances if sum(item["count"] for item in each["items"]) <= SMALL]
    assert small
    for instance in small:
        _reaches(instance, instance["best_known"]["value"])


@pytest.mark.parametrize("dims", [2, 3])
def test_triplets_fill_a_third_as_many_bins(dims: int) -> None:
    """Items drawn in threes that fill a bin to the brim (Falkenauer 1996): a third as many bins are least."""
    _reaches(recipes.triplets(SMALL, dims), SMALL / 3)


def _reaches(instance: Mapping[str, Any], least: float) -> None:
    result = solve(site_of(instance), Options(time_s=SECONDS))
    assert result.plan is not None
    assert result.plan.aims[0].value == least
    assert result.plan.proven


@pytest.mark.slow
def test_the_race_judges_every_side_alike() -> None:
    """The task that peers get values a plan as the ledger does, and first fit's filling as its own sum."""
    site = generated_site(24, seed=3)
    result = solve(site, Options(time_s=SECONDS))
    assert result.plan is not None
    state, power = result.plan.state, result.plan.aims[-1].value
    task = task_of_site(site, state.cooling, result.plan.aims[0].value)
    assert task.worth(filling_of(site, state)) == pytest.approx(power, abs=1e-3)
    cooled = {season.name: frozenset({"building-air"}) for season in site.seasons}
    easier = task_of_site(site, cooled, result.plan.aims[0].value)
    greedy = first_fit(easier)
    assert greedy is not None
    assert easier.worth(greedy) >= power - 1e-3


def test_the_race_refuses_fillings_that_break_a_rule() -> None:
    """An item left out, twice, too much on a bin, a conflict on a bin: each is worth nothing."""
    instance = {
        "dims": 1,
        "bins": [{"cap": [10], "cost": 2, "available": 3}],
        "items": [{"size": [6], "count": 1}, {"size": [4], "count": 1}, {"size": [4], "count": 1}],
        "conflicts": [[0, 2]],
    }
    task = task_of(instance)
    assert task.worth([(0, (0, 1)), (0, (2,))]) == 4.0
    for broken in ([(0, (0, 1))], [(0, (0, 1)), (0, (1, 2))], [(0, (0, 1, 2))], [(0, (0, 2)), (0, (1,))]):
        assert task.worth(broken) == math.inf


@pytest.mark.slow
def test_every_side_of_the_race_agrees_on_a_small_instance() -> None:
    """Each in its own process: those that prove give the least cost, first fit no less; fillings hold."""
    instance = _drawn(4)
    least, task = _least(instance), task_of(instance)
    for side in SIDES:
        ours = side == "stillroom"
        done = run(side, Job(None if ours else task, site_of(instance) if ours else None, SECONDS, cores=1))
        if done.skipped:
            continue
        assert not done.note, side
        assert done.objective >= least - 1e-6, side
        assert side == "first-fit" or (done.proven and done.objective == pytest.approx(least)), side
        if "filling" in done.facts:
            filling = [(make - ours, tuple(items)) for make, items in done.facts["filling"]]
            assert task.worth(filling) == pytest.approx(done.objective), side


def test_a_side_that_overruns_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is killed when limit and grace are over, and what it told until then counts."""
    monkeypatch.setattr(runner, "GRACE_S", 0.0)
    task = task_of(recipes.triplets(60, 3))
    done = run("cp-sat", Job(task, None, 0.01, cores=1))
    assert done.note == "ended at the limit"
    assert not done.proven
