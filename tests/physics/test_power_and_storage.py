"""Watts and disks: bounds that hold whatever the numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics import power, storage, supplies
from tests.physics.strategies import SHARES, WATTS

PSU = [(supply, level) for supply, levels in supplies.PSU_EFFICIENCY.items() for level in levels]
LOADS = st.floats(min_value=0.01, max_value=1)


@given(WATTS, WATTS, SHARES)
def test_power_lies_between_idle_and_peak(one_w: float, other_w: float, utilisation: float) -> None:
    idle_w, peak_w = sorted((one_w, other_w))
    found = power.power_w(idle_w, peak_w, utilisation)
    assert idle_w - 1e-9 <= found <= peak_w + 1e-9


@given(st.sampled_from(PSU), LOADS, LOADS)
def test_a_supply_draws_more_than_it_gives_and_more_for_more(
    psu: tuple[str, str], one: float, other: float
) -> None:
    supply, level = psu
    low, high = sorted((one, other))
    drawn = [supplies.psu_input_w(500 * share, 500, level, supply) for share in (low, high)]
    assert drawn[0] > 500 * low
    assert drawn[0] <= drawn[1] + 1e-9
    assert drawn[0] >= supplies.psu_input_w(0, 500, level, supply) - 1e-9


@pytest.mark.parametrize(
    ("share", "efficiency"), [(0.2, 0.87), (0.35, 0.885), (0.5, 0.90), (0.75, 0.885), (1, 0.87)]
)
def test_efficiency_between_the_points_of_the_table(share: float, efficiency: float) -> None:
    """Gold at 115 V: 87, 90, 87 % at 20, 50, 100 % load; straight lines between."""
    assert supplies.psu_efficiency("gold", share, "115V") == pytest.approx(efficiency)


def test_run_time_of_a_battery_by_hand() -> None:
    """400 Wh usable, 720 W at 90 %: 800 W drawn, half an hour."""
    assert supplies.ups_run_time_min(400, 720, 0.9) == pytest.approx(30)


@given(WATTS, WATTS, st.floats(min_value=0.5, max_value=1))
def test_power_that_leaves_by_cable_is_no_room_heat(base_w: float, sent_w: float, efficiency: float) -> None:
    heat_w = supplies.poe_room_heat_w(base_w, sent_w, efficiency)
    wall_w = base_w + supplies.input_w(sent_w, efficiency)
    assert heat_w + sent_w == pytest.approx(wall_w)


@pytest.mark.parametrize("name", sorted(power.COMPONENTS))
def test_a_working_component_draws_more(name: str) -> None:
    assert power.component_w(name, active=True) > power.component_w(name)


def test_components_by_hand() -> None:
    """Data sheets: 6 to 8 W idle, 8 to 12.5 W active for a 3.5-inch disk of 7200 rpm."""
    assert power.component_w("disk-3.5-7200") == 7.0
    assert power.component_w("disk-3.5-7200", active=True) == 10.25
    assert power.inrush_a(3, 20) == 60


def test_money_by_hand() -> None:
    """100 W for a year is 876 kWh; at 0.30 that is 262.80; 500 is repaid in 500 / 262.8 = 1.90 years."""
    yearly = power.annual_cost(100, 0.30)
    assert yearly == pytest.approx(262.80)
    assert power.payback_years(500, yearly) == pytest.approx(1.90, abs=0.005)
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


@pytest.mark.parametrize(
    ("level", "usable", "survives"), [(0, 16, 0), (1, 4, 3), (5, 12, 1), (6, 8, 2), (10, 8, 1)]
)
def test_four_disks_of_four_terabytes(level: int, usable: float, survives: int) -> None:
    """RAID table: 16, 12, 8 and 8 TB for levels 0, 5, 6 and 10; a mirror of four keeps one disk's worth."""
    assert storage.raid_usable(level, 4, 4) == usable
    assert storage.failures_survived(level, 4) == survives


@given(st.floats(min_value=0.1, max_value=100), st.floats(min_value=1e6, max_value=1e10))
def test_a_copy_is_no_faster_than_its_slower_end(gbit_s: float, disk_bytes_s: float) -> None:
    rate = storage.copy_rate_bytes_s(gbit_s, disk_bytes_s)
    assert rate <= min(disk_bytes_s, gbit_s * 1e9 / 8 * storage.tcp_payload_share())
    assert storage.copy_hours(rate * 7200, rate) == pytest.approx(2)
