"""Watts and disks: bounds that hold whatever the numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics import power, storage
from tests.physics.strategies import SHARES, WATTS


@given(WATTS, WATTS, SHARES)
def test_power_lies_between_idle_and_peak(one_w: float, other_w: float, utilisation: float) -> None:
    idle_w, peak_w = sorted((one_w, other_w))
    found = power.power_w(idle_w, peak_w, utilisation)
    assert idle_w - 1e-9 <= found <= peak_w + 1e-9


def test_run_time_of_a_battery_by_hand() -> None:
    """400 Wh usable, 720 W at 90 %: 800 W drawn, half an hour."""
    assert power.ups_run_time_min(400, 720, 0.9) == pytest.approx(30)


def test_inrush_by_hand() -> None:
    """Three supplies of 20 A each, switched on together."""
    assert power.inrush_a(3, 20) == 60


def test_money_by_hand() -> None:
    """100 W for a year is 876 kWh; at 0.30 that is 262.80; 500 is repaid in 500 / 262.8 = 1.90 years."""
    assert power.annual_kwh(100) == pytest.approx(876)
    assert power.payback_years(500, 876 * 0.30) == pytest.approx(1.90, abs=0.005)
    assert power.payback_years(500, 0) == math.inf
    assert power.payback_years(0, -5) == 0
    assert power.co2_kg(876, 0.25) == pytest.approx(219)


RAIDS = st.sampled_from(sorted(storage.RAID_LEVELS))


@given(RAIDS, st.integers(min_value=2, max_value=12).map(lambda half: 2 * half), SHARES, SHARES)
def test_an_array_gives_no_more_than_its_disks(level: int, disks: int, one: float, other: float) -> None:
    reads_mostly, writes_mostly = sorted((one, other))
    best = storage.host_iops(level, disks, 100, reads_mostly)
    assert best <= 100 * disks + 1e-9
    assert storage.host_iops(level, disks, 100, writes_mostly) <= best + 1e-9
    assert storage.raid_usable(level, disks, 4) <= 4 * disks


@pytest.mark.parametrize(("level", "usable"), [(0, 16), (1, 4), (5, 12), (6, 8), (10, 8)])
def test_four_disks_of_four_terabytes(level: int, usable: float) -> None:
    """RAID table: 16, 12, 8 and 8 TB for levels 0, 5, 6 and 10; a mirror of four keeps one disk's worth."""
    assert storage.raid_usable(level, 4, 4) == usable


@given(st.floats(min_value=1, max_value=1e5), st.floats(min_value=1, max_value=1e5))
def test_a_copy_is_slower_than_the_wire(size_gb: float, mbit_s: float) -> None:
    """The line rate itself carries 1 GB, 8,000 Mbit, in 8000 / rate seconds."""
    assert storage.copy_hours(size_gb, mbit_s) > size_gb * 8000 / mbit_s / 3600


def test_a_copy_without_size_or_without_a_link() -> None:
    assert storage.copy_hours(0, 0) == 0
    assert storage.copy_hours(1, 0) == math.inf
