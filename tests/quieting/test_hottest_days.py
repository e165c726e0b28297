"""The example with readings, a confidence and the hottest days: what the plan makes of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.inventory import load
from planner.ledger import ledger, today_ledger
from planner.ledger.certainty import certainty
from planner.placement.result import Options
from planner.placement.solve import solve

FILE = Path(__file__).parents[2] / "inventories" / "hottest-days.yaml"


@pytest.fixture(scope="module")
def case() -> tuple[Site, Plan]:
    """Plan the example."""
    site = load(FILE).site
    plan = solve(site, Options(time_s=120.0)).plan
    assert plan is not None
    return site, plan


@pytest.mark.slow
def test_today_s_level_is_the_reading(case: tuple[Site, Plan]) -> None:
    """47 dBA with the room and 33 dBA without: 46.8 dBA of the room alone."""
    site, _ = case
    assert today_ledger(site).levels_dba["long-table"] == pytest.approx(46.82, abs=0.01)


def test_the_target_is_met_as_surely_as_asked(case: tuple[Site, Plan]) -> None:
    """80 % of samples keep 30 dBA."""
    site, plan = case
    sure = certainty(site, plan.state, ledger(site, plan.state), site.listeners[0])
    assert sure.probability is not None
    assert sure.probability >= 0.8


def test_the_portable_unit_is_kept_for_the_hottest_days_only(case: tuple[Site, Plan]) -> None:
    """It runs in the 200 hours in which nobody asks for quiet, and in no others."""
    _, plan = case
    seasons = [name for name, running in plan.state.cooling.items() if "portable-ac" in running]
    assert seasons == ["hottest-days"]


def test_the_room_stays_under_its_limit_all_year(case: tuple[Site, Plan]) -> None:
    """In winter with the supply shut as well."""
    site, plan = case
    book = ledger(site, plan.state)
    assert all(season.temperature_c <= site.policy.inlet_limit_c + 1e-6 for season in book.seasons)


def test_what_nobody_knows_is_marked(case: tuple[Site, Plan]) -> None:
    """A class, and every figure from the library."""
    site, _ = case
    assert "sound" in site.box["wren"].assumed
    assert all(measure.assumed for measure in site.measures)
    assert site.box["finch"].spec.sound.origin == "declared"
    assert site.box["heron"].spec.sound.origin == "measured"
