"""Heat and air: energy is conserved, units come back, time and temperature undo each other."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from planner.physics import air, heat
from tests.physics.strategies import FLOWS_M3_S, TEMPERATURES_C, WATTS

UA_W_K = st.floats(min_value=1, max_value=300)
DENSITY_RATIOS = st.floats(min_value=0.6, max_value=1.0)
FLOWS = st.lists(st.tuples(FLOWS_M3_S, TEMPERATURES_C), max_size=4)


@given(WATTS, UA_W_K, TEMPERATURES_C, FLOWS, DENSITY_RATIOS)
def test_the_settled_room_sheds_exactly_its_heat(
    heat_w: float, ua_w_k: float, adjacent_c: float, flows: list[tuple[float, float]], ratio: float
) -> None:
    room_c = heat.steady_temperature_c(heat_w, ua_w_k, adjacent_c, flows, ratio)
    by_air_w = sum(heat.path_capacity_w(room_c, supply_c, flow, ratio) for flow, supply_c in flows)
    shed_w = ua_w_k * (room_c - adjacent_c) + by_air_w
    assert shed_w == pytest.approx(heat_w, rel=1e-6, abs=1e-4)


@given(WATTS, UA_W_K, TEMPERATURES_C, FLOWS)
def test_more_heat_never_cools_and_no_heat_lies_between_the_supplies(
    heat_w: float, ua_w_k: float, adjacent_c: float, flows: list[tuple[float, float]]
) -> None:
    cold = heat.steady_temperature_c(0, ua_w_k, adjacent_c, flows)
    supplies_c = [adjacent_c, *(temp_c for _, temp_c in flows)]
    assert min(supplies_c) - 1e-9 <= cold <= max(supplies_c) + 1e-9
    assert heat.steady_temperature_c(heat_w, ua_w_k, adjacent_c, flows) >= cold - 1e-9


@given(TEMPERATURES_C, TEMPERATURES_C, FLOWS_M3_S, DENSITY_RATIOS)
def test_a_room_at_its_limit_carries_the_capacity_of_its_path(
    limit_c: float, supply_c: float, flow: float, ratio: float
) -> None:
    capacity_w = heat.path_capacity_w(limit_c, supply_c, flow, ratio)
    assert heat.steady_temperature_c(capacity_w, 0, 0, [(flow, supply_c)], ratio) == pytest.approx(limit_c)


def warmed_c(seconds: float, start_c: float, heat_w: float, ua_w_k: float, capacity_j_k: float) -> float:
    """Integrate C dT/dt = P - UA (T - 21 C) in 2,000 steps (Runge-Kutta, fourth order)."""
    step_s, temp_c = seconds / 2000, start_c

    def rate(at_c: float) -> float:
        return (heat_w - ua_w_k * (at_c - 21.0)) / capacity_j_k

    for _ in range(2000):
        one = rate(temp_c)
        two = rate(temp_c + step_s / 2 * one)
        three = rate(temp_c + step_s / 2 * two)
        four = rate(temp_c + step_s * three)
        temp_c += step_s / 6 * (one + 2 * two + 2 * three + four)
    return temp_c


@example(18.0, 500.0, 5.7e-308, 1e5, 1.0)
@given(
    st.floats(min_value=18, max_value=24),
    st.floats(min_value=500, max_value=8000),
    st.floats(min_value=0, max_value=200),
    st.floats(min_value=1e5, max_value=5e6),
    st.floats(min_value=0.5, max_value=15),
)
def test_time_to_an_alarm_and_temperature_then(
    start_c: float, heat_w: float, ua_w_k: float, capacity: float, rise_k: float
) -> None:
    seconds = heat.seconds_to_temperature(start_c + rise_k, start_c, heat_w, ua_w_k, 21, capacity)
    if math.isinf(seconds):
        assert heat.steady_temperature_c(heat_w, ua_w_k, 21) <= start_c + rise_k + 1e-6
    else:
        assert warmed_c(seconds, start_c, heat_w, ua_w_k, capacity) == pytest.approx(
            start_c + rise_k, abs=1e-5
        )


def test_a_shut_room_heats_as_fast_as_its_air_at_most() -> None:
    """2 kW in the air of 30 m3: 3.31 K/min (row B16), so 60 s to 23.31 C without walls, more with them."""
    air_j_k = heat.AIR_J_M3_K * 30
    assert heat.seconds_to_temperature(23.31, 20, 2000, 0, 20, air_j_k) == pytest.approx(60, abs=0.1)
    assert heat.seconds_to_temperature(23.31, 20, 2000, 60, 20, air_j_k) > 60.1


def test_alarm_times_at_the_edges() -> None:
    """At the alarm already; never reached (it settles at 20 + 1000 / 100 = 30 C); no walls: C dT / P."""
    assert heat.seconds_to_temperature(25, 26, 1000, 100, 20, 1e6) == 0
    assert heat.seconds_to_temperature(31, 20, 1000, 100, 20, 1e6) == math.inf
    assert heat.seconds_to_temperature(30, 20, 1000, 0, 20, 1e6) == pytest.approx(10_000)
    assert heat.seconds_to_temperature(30, 20, 0, 0, 20, 1e6) == math.inf


@given(st.floats(min_value=-10, max_value=50), st.floats(min_value=5, max_value=100))
def test_dew_point_and_humidity_undo_each_other(temp_c: float, rh_pct: float) -> None:
    dew_c = air.dew_point_c(temp_c, rh_pct)
    assert dew_c <= temp_c
    assert air.relative_humidity_pct(temp_c, dew_c) == pytest.approx(rh_pct, abs=1e-3)


@given(st.floats(min_value=0, max_value=5000), st.floats(min_value=1, max_value=2000))
def test_air_thins_with_height(altitude_m: float, more_m: float) -> None:
    assert air.density_ratio(altitude_m + more_m) < air.density_ratio(altitude_m) <= 1


@pytest.mark.parametrize(
    ("equipment_class", "temp_c", "recommended", "allowed"),
    [
        ("A1", 22, True, True),
        ("A1", 30, False, True),
        ("A1", 33, False, False),
        ("A2", 35, False, True),
        ("A3", 40, False, True),
        ("A4", 45, False, True),
        ("A4", 46, False, False),
        ("A2", 9, False, False),
    ],
)
def test_inlet_temperature_by_class(
    equipment_class: str, temp_c: float, recommended: bool, allowed: bool
) -> None:
    """ASHRAE TC 9.9, 2021: A1 to 32, A2 to 35, A3 to 40, A4 to 45 C; recommended 18 to 27 C."""
    verdict = air.inlet_verdict(equipment_class, temp_c)
    assert (verdict.recommended, verdict.allowed) == (recommended, allowed)
    assert bool(verdict.reasons) == (not recommended)


def test_dry_air_fails_on_humidity() -> None:
    """A2: at least 8 % and a dew point of -12 C; 24 C at 5 % has neither."""
    reasons = air.inlet_verdict("A2", 24, rh_pct=5).reasons
    assert any("relative humidity 5.0 %" in reason and "A2" in reason for reason in reasons)
    assert any("dew point" in reason for reason in reasons)
