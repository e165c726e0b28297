"""Traps: each is a wrong answer that somebody has published or computed, by its number in the reference."""

import tomllib
import warnings
from types import ModuleType
from typing import cast

import pytest

from planner.physics import air, criteria, heat, room, storage
from tests.reference.checks import SPECTRUM
from tests.reference.tables import REPO


def quiet_import(name: str) -> ModuleType:
    """Import a library of the `reference` extra, deaf to the warnings of its own imports."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        module: ModuleType = pytest.importorskip(name, reason="needs the 'reference' extra")
    return module


def reference_extra() -> list[str]:
    """Requirements of the `reference` extra, as the project states them."""
    project = tomllib.loads((REPO / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return cast(list[str], project["optional-dependencies"]["reference"])


def test_3_scipy_stays_below_the_release_that_breaks_the_acoustics_library() -> None:
    assert any(line.startswith("scipy") and "<1.17" in line for line in reference_extra())


def test_4_no_library_that_needs_a_later_python() -> None:
    assert not any("phonometry" in line for line in reference_extra())


def test_6_two_conventions_give_two_nc_numbers_for_one_spectrum() -> None:
    """Tangency prints 46 (textbook example 6.3), where the next curve up is 50; ours is tangency."""
    assert criteria.nc_rating(SPECTRUM) == pytest.approx(46)


@pytest.mark.parametrize(("q", "expected_db"), [(1, 84.5), (2, 84.8)])
def test_7_a_printed_example_has_the_wrong_q(q: float, expected_db: float) -> None:
    """Lw 90 dB, 2 m, R = 15.25 m2: 84.8 dB, printed for Q = 1, is the answer for Q = 2."""
    assert 90 + room.inside_transfer_db(q, 2, 15.25) == pytest.approx(expected_db, abs=0.05)


@pytest.mark.parametrize(("level", "disks", "right", "printed"), [(5, 5, 608, 792), (10, 8, 1241, 1324)])
def test_8_host_operations_count_every_disk_write(level: int, disks: int, right: int, printed: int) -> None:
    """180 operations a second a disk, 16 % writes. The disk work must equal what the disks give."""
    ours = storage.host_iops(level, disks, 180, 0.16)
    assert ours == pytest.approx(right, abs=0.6)
    assert ours * 0.84 + ours * 0.16 * storage.RAID_LEVELS[level].write_penalty == pytest.approx(disks * 180)
    assert ours < printed - 50


def test_9_altitude_at_constant_temperature() -> None:
    """0.832 at 5,000 ft in HVAC tables; the standard atmosphere's own 0.862 has colder air."""
    assert air.density_ratio(1524) == pytest.approx(0.832, abs=0.0005)
    colder_k = 288.15 - 0.0065 * 1524
    assert air.density_ratio(1524) * 288.15 / colder_k == pytest.approx(0.862, abs=0.0005)


def test_11_names_that_unit_libraries_do_not_know() -> None:
    """pint knows no cubic_feet_per_minute; ft**3/min gives the 2118.88 ft3/min of 1 m3/s."""
    pint = quiet_import("pint")
    registry = pint.UnitRegistry()
    assert "cubic_feet_per_minute" not in registry
    assert registry.Quantity(1.0, "m**3/s").to("ft**3/min").magnitude == pytest.approx(2118.88, abs=0.01)
    assert heat.cfm_from_m3_s(1) == pytest.approx(2118.88, abs=0.01)


def test_12_a_ton_at_ten_fahrenheit_needs_1111_cfm() -> None:
    """12,000 / (1.08 x 10) = 1111; a web page claims 1000."""
    ton_w = 12_000 / heat.btu_h_from_w(1)
    flow = ton_w / heat.path_capacity_w(10 / 1.8, 0, 1)
    assert heat.cfm_from_m3_s(flow) == pytest.approx(12_000 / 10.8, abs=0.5)


@pytest.mark.parametrize(
    ("temp_c", "dew_c"),
    [(27.1, 10.0), (17.9, 10.0), (22.0, 15.1), (22.0, -9.1)],
)
def test_the_recommended_inlet_limits_bite(temp_c: float, dew_c: float) -> None:
    """ASHRAE TC 9.9, 2021: 18 to 27 C, dew point -9 to 15 C; row B15."""
    verdict = air.inlet_verdict("A1", temp_c, dew_c)
    assert not verdict.recommended
    assert verdict.allowed


def test_warm_moist_air_fails_on_dew_point_not_on_temperature() -> None:
    """27 C at 60 %: dew point 18.6 C, above the recommended 15 and A1's 17 (row B13)."""
    verdict = air.inlet_verdict("A1", 27.0, rh_pct=60)
    assert not verdict.recommended
    assert not verdict.allowed
    assert all("dew point 18.6 C" in reason for reason in verdict.reasons)
    assert air.inlet_verdict("A2", 27.0, rh_pct=60).allowed
