"""The ladder on the mid-size example: long, cheap rungs, ending below the target; the set beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.inventory import load
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.quieting import Quieting, quieting

MID_SIZE = Path(__file__).parents[2] / "inventories" / "mid-size.yaml"


@pytest.fixture(scope="module")
def found() -> Quieting:
    """Quiet the machines of the example's own plan, as if none of its measures were taken yet."""
    site = load(MID_SIZE).site
    plan = solve(site, Options(time_s=240.0)).plan
    assert plan is not None
    return quieting(site, plan.state, Options(time_s=120.0), solve=solve)


@pytest.mark.slow
def test_it_has_eight_rungs_and_ends_below_the_target(found: Quieting) -> None:
    """Each rung is heard; the last is below what was asked for at both listeners."""
    ladder = found.ladder
    assert len(ladder.rungs) >= 8
    assert ladder.met
    for item in found.site.listeners:
        assert item.target_dba is not None
        assert ladder.end_book.levels_dba[item.name] <= item.target_dba


def test_the_rungs_are_in_the_usual_range_of_prices(found: Quieting) -> None:
    """Many under 50, most under 500, hardly any over 1,000 (common practice)."""
    prices = [rung.price for rung in found.ladder.rungs]
    assert sum(price < 50 for price in prices) >= len(prices) / 3
    assert sum(price < 500 for price in prices) > len(prices) / 2
    assert sum(price > 1000 for price in prices) <= 1


def test_the_proven_set_costs_no_more_than_the_ladder(found: Quieting) -> None:
    """And meets the targets as well."""
    assert found.best is not None
    assert found.best.proven
    assert found.best.over_db == 0.0
    assert found.best.cost <= found.ladder.cost + 1e-6


def test_the_air_conditioner_goes_when_the_building_s_air_holds_the_heat(found: Quieting) -> None:
    """The loudest thing in the room is switched off on the way, never over the inlet limit."""
    stopped = [name for rung in found.ladder.rungs for name in rung.step.stops]
    assert stopped == ["portable-ac"]
    assert all(rung.warmest_c <= found.site.policy.inlet_limit_c for rung in found.ladder.rungs)
