"""The ladder: loudest first, what it takes, and where it ends."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.domain.air import Removal
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import ledger
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.quieting import CannotQuietError, climb, quieting, settled
from planner.quieting.ladder import LEAST_CHANGE_DB, MET, NO_CHANGE
from planner.verify import verify_state
from tests.kit.sites import random_site
from tests.quieting.sites import bare_site, fans, gear, greedy_loses, hot_site, on_room

FLAT_DBA = 10 * math.log10(sum(10 ** (a / 10) for a in (-26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1)))
"""A source of 0 dB in every octave, A-weighted (IEC 61672-1, nominal table)."""

PATH_DB = 10 * math.log10(2 / (4 * math.pi * 2**2) + 4 / (59 * 0.2 / 0.8))
"""Direct plus reverberant field at 2 m in the bare room (handbook)."""


def _climbed(site: Site) -> list[tuple[str, ...]]:
    ladder = climb(settled(site, state_today(site)))
    return [rung.step.measures for rung in ladder.rungs]


def test_the_loudest_source_is_quieted_first_and_the_levels_add_up() -> None:
    """60 and 54 dB a band: first the one, then the other, each level an energy sum by hand."""
    steps = (fans("slow-a", "a", 15.0, 20.0), fans("slow-b", "b", 15.0, 1.0))
    site = bare_site((gear("a", 60.0), gear("b", 54.0)), steps, 45.0)
    ladder = climb(settled(site, state_today(site)))
    assert [rung.step.measures for rung in ladder.rungs] == [("slow-a",), ("slow-b",)]
    assert [rung.leading for rung in ladder.rungs] == ["a", "b"]
    assert [rung.next_leading for rung in ladder.rungs] == ["b", "a"]
    levels = [ladder.start_book.levels_dba["desk"]]
    levels += [rung.after.levels_dba["desk"] for rung in ladder.rungs]
    for level, (a, b) in zip(levels, ((60, 54), (45, 54), (45, 39)), strict=True):
        by_hand = 10 * math.log10(10 ** (a / 10) + 10 ** (b / 10)) + FLAT_DBA + PATH_DB
        assert level == pytest.approx(by_hand, abs=0.01)


def test_it_ends_when_the_target_is_met() -> None:
    """No rung is taken that is not needed."""
    steps = (fans("slow-a", "a", 15.0, 20.0), fans("slow-b", "b", 15.0, 1.0))
    site = bare_site((gear("a", 60.0), gear("b", 40.0)), steps, 58.0)
    ladder = climb(settled(site, state_today(site)))
    assert [rung.step.measures for rung in ladder.rungs] == [("slow-a",)]
    assert ladder.stopped_by == MET


def test_it_ends_when_nothing_changes_half_a_decibel() -> None:
    """Quieting the quieter of two sources by much changes 0.4 dB here: not worth the work."""
    site = bare_site((gear("a", 60.0), gear("b", 49.0)), (fans("slow-b", "b", 20.0, 1.0),), 30.0)
    ladder = climb(settled(site, state_today(site)))
    assert ladder.rungs == ()
    assert ladder.stopped_by == NO_CHANGE


def test_of_the_measures_on_the_loudest_the_best_for_its_money_is_taken() -> None:
    """10 dB for 20 beats 12 dB for 100."""
    steps = (fans("hood", "a", 12.0, 100.0), fans("slow", "a", 10.0, 20.0))
    assert _climbed(bare_site((gear("a", 60.0),), steps, 55.0))[0] == ("slow",)


def test_the_room_is_treated_where_that_is_better_value() -> None:
    """20 m² of absorber for 10 against 3 dB of fans for 100."""
    steps = (fans("slow", "a", 3.0, 100.0), on_room("panels", 20.0, 10.0))
    assert _climbed(bare_site((gear("a", 60.0),), steps, 50.0))[0] == ("panels",)


def test_the_next_loudest_comes_when_nothing_is_left_for_the_loudest() -> None:
    """Two equal sources, one of which nothing can be done about."""
    site = bare_site((gear("a", 60.0), gear("b", 60.0)), (fans("slow-b", "b", 9.0, 5.0),), 50.0)
    assert _climbed(site) == [("slow-b",)]


def test_a_measure_brings_what_it_requires() -> None:
    """Both are one rung, the required one first, and both are paid."""
    slow = replace(fans("slow", "a", 9.0, 5.0), requires=frozenset({"log"}))
    site = bare_site((gear("a", 60.0),), (slow, fans("log", "a", 0.0, 7.0)), 50.0)
    ladder = climb(settled(site, state_today(site)))
    assert ladder.rungs[0].step.measures == ("log", "slow")
    assert ladder.rungs[0].price == pytest.approx(12.0)


def test_what_is_not_allowed_or_over_the_budget_is_not_taken() -> None:
    """A forbidden measure, and one for 80 where 50 are left."""
    steps = (replace(fans("hood", "a", 12.0, 1.0), allowed=False), fans("slow", "a", 9.0, 80.0))
    site = bare_site((gear("a", 60.0),), steps, 40.0)
    assert _climbed(replace(site, policy=replace(site.policy, budget=50.0))) == []


def test_a_loud_cooler_goes_when_other_cooling_holds_the_heat() -> None:
    """The duct at 18 °C holds 750 W: the cooler is switched off for it."""
    site = hot_site()
    first = climb(settled(site, state_today(site))).rungs[0]
    assert (first.step.starts, first.step.stops) == (("duct",), ("cooler",))
    assert first.step.seasons == ("all year",)
    assert first.price == pytest.approx(300.0)
    assert first.warmest_c < site.policy.inlet_limit_c
    assert first.cautions == ("hvac",)


def test_the_room_is_never_sealed_over_its_limit() -> None:
    """With a duct of 0.02 m³/s the heat would stay: the cooler runs on, though it is the loudest."""
    site = hot_site()
    thin = replace(site.cooling[1], removal={"all year": Removal(flow_m3_s=0.02, supply_c=18.0)})
    site = replace(site, cooling=(site.cooling[0], thin))
    ladder = climb(settled(site, state_today(site)))
    assert all(not rung.step.stops for rung in ladder.rungs)
    assert all(rung.warmest_c <= site.policy.inlet_limit_c for rung in ladder.rungs)


def test_a_room_without_a_path_for_its_heat_is_refused() -> None:
    """No wall conducts, no air moves, nothing cools."""
    site = hot_site()
    shut = replace(site, room=replace(site.room, ua_w_k=0.0), cooling=())
    with pytest.raises(CannotQuietError, match="no path for its heat"):
        settled(shut, state_today(shut))


def test_greed_costs_a_fifth_more() -> None:
    """The hood, then taking it away after all: 80; the cheapest set is taking it away: 60."""
    site = greedy_loses()
    found = quieting(site, state_today(site), Options(time_s=30.0), solve=solve)
    assert found.ladder.met
    assert found.best is not None
    assert found.best.proven
    assert found.ladder.cost >= 1.2 * found.best.cost


def test_a_confidence_takes_the_ladder_further() -> None:
    """Where the foretold level is enough for nobody who wants to be 90 % sure, more rungs are taken."""
    steps = (fans("slow-a", "a", 15.0, 20.0), fans("slow-b", "b", 15.0, 1.0))
    site = bare_site((gear("a", 60.0), gear("b", 50.0)), steps, 54.0)
    sure = replace(site, listeners=(replace(site.listeners[0], confidence=0.9),))
    plainly, surely = (climb(settled(item, state_today(item))) for item in (site, sure))
    assert (len(plainly.rungs), len(surely.rungs)) == (1, 2)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8))
def test_with_a_confidence_the_set_is_no_dearer_either(seed: int) -> None:
    """Proven or not."""
    base = random_site(seed, measures=5, gear=3, cooling=2, listeners=1)
    site = replace(base, listeners=(replace(base.listeners[0], target_dba=45.0, confidence=0.85),))
    found = quieting(site, state_today(site), Options(time_s=20.0), solve=solve)
    assert found.equal is not None
    assert found.equal.cost <= found.ladder.cost + 1e-6


def _random_case(seed: int) -> tuple[Site, State]:
    site = random_site(seed, measures=6, room_measures=2, gear=3, cooling=3)
    return site, state_today(site)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(30))
def test_the_proven_set_never_costs_more_than_the_ladder(seed: int) -> None:
    """On random sites, where both reach the same; every rung keeps the limits and is heard."""
    site, today = _random_case(seed)
    try:
        found = quieting(site, today, Options(time_s=30.0), solve=solve)
    except CannotQuietError:
        return
    assert found.equal is not None
    assert found.equal.proven
    assert found.equal.cost <= found.ladder.cost + 1e-6
    for item in found.site.listeners:
        if item.target_dba is not None:
            reached = found.ladder.end_book.levels_dba[item.name]
            assert found.equal.book.levels_dba[item.name] <= max(item.target_dba, reached) + 2e-3


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(60))
def test_every_rung_is_heard_and_keeps_the_limits(seed: int) -> None:
    """At least half a decibel where it is worst, no new breach of any rule, sums that add up."""
    site, today = _random_case(seed)
    try:
        base = settled(site, today)
    except CannotQuietError:
        return
    ladder = climb(base)
    known = {(item.rule, item.where) for item in verify_state(base, ladder.start)}
    for rung in ladder.rungs:
        drop = rung.before.levels_dba[rung.listener] - rung.after.levels_dba[rung.listener]
        assert drop >= LEAST_CHANGE_DB
        breaches = {(item.rule, item.where) for item in verify_state(base, rung.step.state)}
        assert breaches <= known
    if ladder.rungs:
        assert ladder.rungs[-1].after.levels_dba == ledger(base, ladder.end).levels_dba


@pytest.mark.parametrize("seed", range(20))
def test_a_settled_site_has_the_ledger_of_the_state(seed: int) -> None:
    """Levels, watts, heat and circuits are those of the placement: only what may be decided differs."""
    site, today = _random_case(seed)
    try:
        base = settled(site, today)
    except CannotQuietError:
        return
    ours, theirs = ledger(base, state_today(base)), ledger(site, today)
    assert ours.levels_dba == pytest.approx(dict(theirs.levels_dba), abs=1e-6)
    assert ours.mean_power_w == pytest.approx(theirs.mean_power_w, rel=1e-6)
    assert ours.circuits_w == pytest.approx(dict(theirs.circuits_w), rel=1e-6)
