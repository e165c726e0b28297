"""The front against a search of every state, and what it says when it is not whole."""

from __future__ import annotations

import math
import threading
from dataclasses import replace

import pytest

from planner.domain.plan import Outcome, Plan
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.result import Options
from planner.placement.studies.front import Front, Point, Scale, on_scale
from planner.placement.studies.knee import knee
from planner.placement.studies.local_upper_bounds import EVERYWHERE, Region, Values, dominates
from planner.placement.studies.pareto_front import AXES, tradeoff
from planner.verify import verify_plan
from tests.kit.sites import tiny_site
from tests.oracles.brute import Brute

POWER_GRAIN_W = 0.01
"""Watts that differ by less are the same."""

GRAINS = (0.5, POWER_GRAIN_W, 0.01)
SITES, CHUNK = 90, 10


def _brute_front(site: Site) -> list[Values]:
    """List the values of every state that the judge accepts and none beats, quietest first."""
    brute = Brute(site)
    by_index = [tuple(found.values[aim] for aim in AXES) for found in brute.candidates]
    kept: list[Values] = []
    for index in sorted(range(len(by_index)), key=by_index.__getitem__):
        sound, power, cost = by_index[index]
        covered = any(s <= sound and p <= power + GRAINS[1] / 2 and c <= cost + 1e-6 for s, p, c in kept)
        if not covered and brute.passes(index):
            kept.append((sound, power, cost))
    return [value for value in kept if not any(dominates(other, value, GRAINS) for other in kept)]


def _assert_same(front: Front, brute: list[Values]) -> None:
    assert [point.values[0] for point in front.points] == [value[0] for value in sorted(brute)]
    for point, value in zip(front.points, sorted(brute), strict=True):
        assert point.values == pytest.approx(value, abs=POWER_GRAIN_W), front.site.name


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, SITES, CHUNK))
def test_the_front_is_that_of_all_states(first: int) -> None:
    """On 90 tiny sites with every rule the front has the points of a search of every state, and no other.

    Agreement says something: of each ten at least three have a front, two of them with 5 points or more.
    """
    sizes = []
    for seed in range(first, first + CHUNK):
        site = on_scale(tiny_site(seed), Scale.TARGETS)
        front = tradeoff(site)
        brute = _brute_front(site)
        assert front.outcome is (Outcome.PROVEN if brute else Outcome.INFEASIBLE)
        _assert_same(front, brute)
        for point in front.points:
            assert point.proven
            assert not verify_plan(front.site, point.plan)
        sizes.append(len(front.points))
    assert sum(size > 0 for size in sizes) >= 3
    assert sum(size >= 5 for size in sizes) >= 2


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2, 90, 8))
def test_the_absolute_front_is_that_of_all_states(seed: int) -> None:
    """Without targets the first axis is the level at the loudest listener."""
    front = tradeoff(tiny_site(seed), scale=Scale.ABSOLUTE)
    assert all(item.target_dba is None for item in front.site.listeners)
    _assert_same(front, _brute_front(front.site))


@pytest.mark.slow
def test_a_part_of_a_front_says_so() -> None:
    """With points left out the front is called incomplete, and what is there is not beaten."""
    site = tiny_site(2)
    whole, part = tradeoff(site), tradeoff(site, most=5)
    assert len(whole.points) > 5
    assert len(part.points) == 5
    assert not part.complete
    assert part.stopped_by == "the 5 points asked for"
    assert part.zones > 0
    everything = [point.values for point in whole.points]
    for point in part.points:
        assert any(point.values == pytest.approx(value, abs=POWER_GRAIN_W) for value in everything)


@pytest.mark.slow
def test_the_ends_come_first() -> None:
    """The first points are the quietest, the most frugal and the cheapest."""
    site = tiny_site(15)
    whole, part = tradeoff(site), tradeoff(site, most=3)
    for axis in range(3):
        best = min(point.values[axis] for point in whole.points)
        assert min(point.values[axis] for point in part.points) == pytest.approx(best, abs=POWER_GRAIN_W)


def test_a_cancelled_search_keeps_what_it_has() -> None:
    """A cancel at the first point ends the search with that point."""
    cancel = threading.Event()
    front = tradeoff(tiny_site(2), cancel=cancel, watch=lambda _: cancel.set())
    assert len(front.points) == 1
    assert front.stopped_by == "interrupted"
    assert front.outcome is Outcome.STOPPED_WITH_PLAN


def test_time_up_before_the_first_point() -> None:
    """Without time there is no point, and no claim that there could be none."""
    front = tradeoff(tiny_site(2), Options(time_s=1e-6))
    assert (front.points, front.outcome) == ((), Outcome.STOPPED_EMPTY)


def test_a_site_without_a_plan_has_reasons() -> None:
    """What the pre-flight knows is told."""
    site = tiny_site(2)
    needy = replace(site.services[0], needs=frozenset({"a part that nobody has"}))
    front = tradeoff(replace(site, services=(needy, *site.services[1:])))
    assert front.outcome is Outcome.INFEASIBLE
    assert front.conflicts


def test_zones_of_points_known_beforehand() -> None:
    """Splitting by given points leaves exactly the corners between them (worked by hand in two aims)."""
    region = Region((1.0, 1.0, 1.0))
    for x, y in ((1.0, 9.0), (5.0, 5.0), (9.0, 1.0)):
        region.split((x, y, 0.0))
    # Nothing is better than 0 in the third aim, so its zones are closed; left are the steps between points.
    region.close((math.inf, math.inf, 0.0))
    flat = sorted((x, y) for x, y, _ in region.zones)
    assert flat == [(1.0, math.inf), (5.0, 9.0), (9.0, 5.0), (math.inf, 1.0)]


def test_closing_a_zone_closes_what_is_inside() -> None:
    """A proof that nothing is under a bound takes every smaller zone with it."""
    region = Region((1.0, 1.0, 1.0))
    region.split((5.0, 5.0, 5.0))
    region.close((6.0, math.inf, math.inf))
    assert region.zones == [(math.inf, 5.0, math.inf), (math.inf, math.inf, 5.0)]
    region.close(EVERYWHERE)
    assert region.zones == []


def _front(*values: Values) -> Front:
    plan = Plan(State(()), (), Outcome.PROVEN)
    points = tuple(Point(*value, plan) for value in sorted(values))
    return Front(tiny_site(0), Scale.TARGETS, points, Outcome.PROVEN)


def test_the_knee_by_hand() -> None:
    """Shares of the ranges 10 dB, 100 W, 1000: (0,0,1), (.3,.2,.2) at distance .41, (1,1,0): the second."""
    found = knee(_front((0.0, 100.0, 1000.0), (3.0, 120.0, 200.0), (10.0, 200.0, 0.0)))
    assert found is not None
    assert found.point.values == (3.0, 120.0, 200.0)
    assert found.quieter is not None
    assert found.louder is not None
    assert (found.quieter.sound, found.louder.sound) == (0.0, 10.0)


def test_knees_of_small_fronts() -> None:
    """An empty front has none; a single point has no neighbours."""
    assert knee(_front()) is None
    single = knee(_front((2.0, 10.0, 0.0)))
    assert single is not None
    assert (single.quieter, single.louder) == (None, None)


def test_every_aim_of_a_point_is_proven_within_its_limits() -> None:
    """A point's plan carries its three aims, each value with the bound that proves it."""
    front = tradeoff(tiny_site(18))
    for point in front.points:
        assert {result.aim for result in point.plan.aims} == {Aim.SOUND, Aim.POWER, Aim.COST}
        assert all(result.gap <= 1e-3 for result in point.plan.aims)
