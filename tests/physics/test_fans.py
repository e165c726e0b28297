"""Fans: laws undone by their opposites, and the staircase of a warm inlet."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics import fans
from tests.physics.strategies import LEVELS, RATIOS


@given(RATIOS)
def test_speeding_up_and_slowing_down_again_is_nothing(ratio: float) -> None:
    assert fans.speed_change_db(ratio) + fans.speed_change_db(1 / ratio) == pytest.approx(0, abs=1e-9)
    assert fans.size_change_db(ratio) + fans.size_change_db(1 / ratio) == pytest.approx(0, abs=1e-9)


def test_ten_per_cent_more_speed_is_about_two_decibels() -> None:
    """Published rule."""
    assert fans.speed_change_db(1.1) == pytest.approx(2, abs=0.1)


def test_other_exponents_in_use() -> None:
    """7/12 of the speed: -12.87 dB with 55, -13.11 with 56 (from memory)."""
    assert fans.speed_change_db(7 / 12, 55) == pytest.approx(-12.87, abs=0.01)
    assert fans.speed_change_db(7 / 12, 56) == pytest.approx(-13.11, abs=0.01)


def test_laws_at_seven_twelfths() -> None:
    """Flow 0.583, pressure 0.340 (published)."""
    assert fans.airflow_ratio(7 / 12) == pytest.approx(0.583, abs=5e-4)
    assert fans.pressure_ratio(7 / 12) == pytest.approx(0.340, abs=5e-4)


STEPS = fans.INLET_STEPS
COUNTS = st.integers(min_value=1, max_value=12)
DIAMETERS_MM = st.floats(min_value=30, max_value=250)


@given(COUNTS, DIAMETERS_MM, COUNTS, DIAMETERS_MM)
def test_replaced_fans_move_the_same_air(n: int, small_mm: float, m: int, large_mm: float) -> None:
    swap = fans.replace_fans(n, small_mm, m, large_mm)
    before, after = n * 9000 * small_mm**3, m * 9000 * swap.speed_ratio * large_mm**3
    assert after == pytest.approx(before)
    back = fans.replace_fans(m, large_mm, n, small_mm)
    assert back.level_change_db == pytest.approx(-swap.level_change_db, abs=1e-9)
    assert back.speed_ratio * swap.speed_ratio == pytest.approx(1)


def test_one_large_fan_for_six_small_ones_by_hand() -> None:
    """6 x 40 mm at 15,000 rpm for one of 120 mm: speed 6 / 27 of it, 3333 rpm.

    -10 lg 6 + 70 lg 3 + 50 lg(6/27) = -7.78 + 33.40 - 32.66 = -7.04 dB; pressure (6/27)**2 x 9 = 0.444.
    """
    swap = fans.replace_fans(6, 40, 1, 120)
    assert 15000 * swap.speed_ratio == pytest.approx(3333.3, abs=0.1)
    assert swap.level_change_db == pytest.approx(-7.04, abs=0.01)
    assert swap.pressure_ratio == pytest.approx(0.444, abs=0.001)


@given(st.floats(min_value=-10, max_value=60), st.floats(min_value=0, max_value=30))
def test_a_warmer_inlet_is_never_quieter(temp_c: float, more_k: float) -> None:
    assert fans.inlet_rise_db(temp_c + more_k, STEPS) >= fans.inlet_rise_db(temp_c, STEPS)


@pytest.mark.parametrize(
    ("temp_c", "rise_db"),
    [(18, 0), (25, 0), (25.1, 4.7), (30, 4.7), (30.5, 6.4), (35, 6.4), (39, 8.4), (40, 8.4), (55, 8.4)],
)
def test_steps_of_a_warm_inlet(temp_c: float, rise_db: float) -> None:
    """Steps from memory of a white paper of 2011: 0, 4.7, 6.4, 8.4 dB; taken at the warm end of each step."""
    assert fans.inlet_rise_db(temp_c, STEPS) == rise_db


def test_a_fan_that_may_not_start() -> None:
    """Common practice: many 12 V fans start at 6 to 9 V; a tested voltage wants 0.5 V more."""
    assert fans.may_fail_to_start(7)
    assert not fans.may_fail_to_start(9)
    assert not fans.may_fail_to_start(7, tested_start_v=6.5)
    assert fans.may_fail_to_start(6.9, tested_start_v=6.5)


@given(LEVELS, LEVELS)
def test_slowing_a_fan_stops_helping_at_the_floor(fan_db: float, floor_db: float) -> None:
    assert fans.with_residual_floor_db(fan_db, floor_db) >= max(fan_db, floor_db)
