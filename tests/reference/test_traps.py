"""The twelve traps of the reference, section 0: each is a wrong answer somebody has published or computed."""

import tomllib
import warnings
from types import ModuleType
from typing import cast

import pytest

from planner.physics import air, criteria, declared, elements, heat, rating, room, storage
from tests.reference.checks import SPECTRUM, STC_CONTOUR_45, STC_NOTCH
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


def test_1_stc_applies_the_eight_decibel_rule() -> None:
    """A deep notch at 2.5 kHz: 27 by ASTM E413 (row A36), where one library forgets the rule and says 40."""
    assert rating.stc(STC_NOTCH, round_to_whole_db=False) == 27


def test_1_the_library_that_forgets_the_rule_is_no_oracle_here() -> None:
    numpy = quiet_import("numpy")
    building = quiet_import("acoustics.building")
    assert int(building.stc(numpy.array(STC_NOTCH))) == 40


def test_2_a_deficiency_of_exactly_eight_is_allowed() -> None:
    """E413 says 'shall not exceed 8': with the notch at 24 dB contour 28 misses by 32 - 24 = 8.0 dB."""
    notch_at_24 = (*STC_NOTCH[:13], 24, *STC_NOTCH[14:])
    assert rating.stc(notch_at_24) == 28
    assert rating.stc((*STC_NOTCH[:13], 23.9, *STC_NOTCH[14:]), round_to_whole_db=False) == 27


def test_2_losses_are_rounded_to_whole_decibels_unless_told_not_to() -> None:
    """23.5 dB is reported as 24 dB (E90), which moves the notch from contour 27 to 28."""
    assert rating.stc(STC_NOTCH) == 28


def test_3_scipy_stays_below_the_release_that_breaks_the_acoustics_library() -> None:
    assert any(line.startswith("scipy") and "<1.17" in line for line in reference_extra())


def test_4_no_library_that_needs_a_later_python() -> None:
    assert not any("phonometry" in line for line in reference_extra())


def test_5_the_edition_of_the_nc_table_matters() -> None:
    """NC-15 at 1 kHz: 17 dB in the classic table, 18 dB in S12.2-2019."""
    assert criteria.nc_curve(15, "classic")[4] == 17
    assert criteria.nc_curve(15, "2019")[4] == 18
    touching_1_khz = (0.0, 0.0, 0.0, 0.0, 27.0, 0.0, 0.0, 0.0)
    assert criteria.nc_rating(touching_1_khz, "classic") == 25
    assert criteria.nc_rating(touching_1_khz, "2019") == 25
    quiet = (0.0, 0.0, 0.0, 0.0, 18.0, 0.0, 0.0, 0.0)
    assert criteria.nc_rating(quiet, "classic") == 16
    assert criteria.nc_rating(quiet, "2019") == 15


def test_6_two_conventions_give_two_nc_numbers_for_one_spectrum() -> None:
    """Tangency prints 46 (textbook example 6.3), the next curve up is 50."""
    assert criteria.nc_rating(SPECTRUM) == pytest.approx(46)
    assert criteria.nc_governing_hz(SPECTRUM) == 500
    assert criteria.nc_next_step(SPECTRUM) == 50


@pytest.mark.parametrize(("q", "expected_db"), [(1, 84.5), (2, 84.8)])
def test_7_a_printed_example_has_the_wrong_q(q: float, expected_db: float) -> None:
    """Lw 90 dB, 2 m, R = 15.25 m2: 84.8 dB, printed for Q = 1, is the answer for Q = 2."""
    assert 90 + room.inside_transfer_db(q, 2, 15.25) == pytest.approx(expected_db, abs=0.05)


@pytest.mark.parametrize(("level", "disks", "right", "printed"), [(5, 5, 608, 792), (10, 8, 1241, 1324)])
def test_8_host_operations_count_every_disk_write(level: int, disks: int, right: int, printed: int) -> None:
    """180 operations a second a disk, 16 % writes. The disk work must equal what the disks give."""
    ours = storage.host_iops(level, disks, 180, 0.16)
    assert ours == pytest.approx(right, abs=0.6)
    assert ours * 0.84 + ours * 0.16 * storage.write_penalty(level) == pytest.approx(disks * 180)
    assert ours < printed - 50


def test_9_altitude_at_constant_temperature() -> None:
    """0.832 at 5,000 ft in HVAC tables; the standard atmosphere's own 0.862 has colder air."""
    assert air.density_ratio(1524) == pytest.approx(0.832, abs=0.0005)
    colder_k = 288.15 - 0.0065 * 1524
    assert air.density_ratio(1524) * 288.15 / colder_k == pytest.approx(0.862, abs=0.0005)


def test_10_stc_is_not_to_be_had_from_octaves() -> None:
    """An element whose octaves would rate about 36 keeps its printed 33; octave values are refused."""
    assert elements.PRINTED_STC["gypsum-wood-studs"] == 33
    tl_db = elements.TRANSMISSION_LOSS["gypsum-wood-studs"]
    for octaves in (tl_db, tl_db[1:7]):
        with pytest.raises(ValueError, match="octave values cannot be rated"):
            rating.stc(octaves)


def test_11_names_that_unit_libraries_do_not_know() -> None:
    """pint knows no cubic_feet_per_minute; ft**3/min gives the 2118.88 ft3/min of 1 m3/s."""
    pint = quiet_import("pint")
    registry = pint.UnitRegistry()
    assert "cubic_feet_per_minute" not in registry
    assert registry.Quantity(1.0, "m**3/s").to("ft**3/min").magnitude == pytest.approx(2118.88, abs=0.01)
    assert heat.cfm_from_m3_s(1) == pytest.approx(2118.88, abs=0.01)


def test_12_a_ton_at_ten_fahrenheit_needs_1111_cfm() -> None:
    """12,000 / (1.08 x 10) = 1111; a web page claims 1000."""
    flow = heat.airflow_m3_s(heat.w_from_tons(1), heat.kelvin_from_fahrenheit_rise(10))
    assert heat.cfm_from_m3_s(flow) == pytest.approx(12_000 / 10.8, abs=0.5)


def test_kv_is_never_added_to_an_old_declared_level() -> None:
    """ISO 9296:1988: L_WAd is a statistical maximum already; 2017: mean plus Kv."""
    assert declared.declared_upper_limit(58, edition="1988") == 58
    with pytest.raises(ValueError, match="never add Kv"):
        declared.declared_upper_limit(58, 3, edition="1988")
    assert declared.declared_upper_limit(55, 3) == 58
    assert declared.statistical_mean_lwa(55, 58) == (55, False)
    assert declared.statistical_mean_lwa(None, 58) == (58, True)


def test_the_contour_itself_rates_two_above_its_name() -> None:
    """Row A37: every band of contour 47 is 2 dB short of contour 45, 16 x 2 = 32 in all."""
    assert rating.stc(STC_CONTOUR_45) == 47


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
