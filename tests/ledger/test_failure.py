"""Cooling fails: time to the alarm and the temperature in the end, by hand and by what must hold."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.state import state_today
from planner.ledger import ledger
from planner.ledger.failure import failure, heat_capacity_j_k
from tests.kit.sites import plain_site, random_site
from tests.kit.states import random_state


def test_time_and_end_by_hand() -> None:
    """T(t) = Te + (T0 - Te) exp(-t UA / C), Te = Ta + P / UA (handbook, one lump of heat capacity)."""
    site = plain_site()
    site = replace(
        site, room=replace(site.room, heat_capacity_j_k=500e3), policy=replace(site.policy, alarm_c=30.0)
    )
    state = state_today(site)
    entry = ledger(site, state).seasons[0]
    found = failure(site, state, site.seasons[0], entry)
    end_c = 25.0 + entry.heat_w / 50.0
    seconds = 500e3 / 50.0 * math.log((end_c - entry.temperature_c) / (end_c - 30.0))
    assert found.end_c == pytest.approx(end_c)
    assert found.minutes == pytest.approx(seconds / 60.0)
    assert (found.soonest_min, found.latest_min) == pytest.approx((found.minutes / 3.0, found.minutes * 3.0))


def test_a_shut_room_without_a_path_warms_without_end() -> None:
    """C dT / P where no wall conducts and no air moves."""
    site = plain_site()
    shut = replace(site, room=replace(site.room, ua_w_k=0.0, leak_m3_s=0.0, heat_capacity_j_k=500e3))
    state = state_today(shut)
    entry = ledger(site, state).seasons[0]
    found = failure(shut, state, shut.seasons[0], entry)
    assert found.end_c == math.inf
    assert found.minutes == pytest.approx(500e3 * (35.0 - entry.temperature_c) / entry.heat_w / 60.0)


def test_the_capacity_from_the_size_is_air_and_linings() -> None:
    """30 m³ of air at 1.207 kJ/(m³ K) and 59 m² of gypsum at 10 kJ/(m² K): about 630 kJ/K."""
    assert heat_capacity_j_k(plain_site()) == pytest.approx(30.0 * 1.2 * 1006.0 + 59.0 * 10e3, rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 3000))
def test_order_of_the_times_and_no_alarm_under_it(seed: int) -> None:
    """Soonest, middle, latest; a room that ends under the alarm never gives one."""
    site = random_site(seed)
    state = random_state(site, seed)
    for season, entry in zip(site.seasons, ledger(site, state).seasons, strict=True):
        found = failure(site, state, season, entry)
        assert 0.0 <= found.soonest_min <= found.minutes <= found.latest_min
        if found.end_c < found.alarm_c and entry.temperature_c < found.alarm_c:
            assert found.minutes == math.inf
