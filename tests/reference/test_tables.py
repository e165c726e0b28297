"""The constants carried over from the reference tables still say what the tables say."""

import math

import pytest

from planner.domain.machines import Circuit
from planner.physics import air, bands, criteria, elements, exposure, power, sound, storage
from planner.physics.absorption import ABSORPTION
from tests.reference.tables import OCTAVES, rows


def test_a_weighting_is_the_nominal_table() -> None:
    table = {float(row["freq_hz"]): float(row["A_dB"]) for row in rows("a_weighting_iec61672.csv")}
    assert tuple(table[hz] for hz in bands.OCTAVE_HZ) == bands.A_WEIGHTING_DB


def test_nc_curves() -> None:
    table = rows("nc_curves.csv")
    curves = tuple(tuple(float(row[f"{hz:g}"]) for hz in bands.OCTAVE_HZ) for row in table)
    assert tuple(int(row["NC"]) for row in table) == criteria.NC_RATINGS
    assert curves == criteria.NC_CURVES_DB


def test_every_element_keeps_its_octaves() -> None:
    table = [tuple(float(row[hz]) for hz in OCTAVES) for row in rows("transmission_loss_octave.csv")]
    assert [loss_db[1:7] for loss_db in elements.TRANSMISSION_LOSS.values()] == table


def test_every_absorber_keeps_its_octaves() -> None:
    table = [tuple(float(row[hz]) for hz in OCTAVES) for row in rows("absorption_coefficients.csv")]
    assert [alphas[1:7] for alphas in ABSORPTION.values()] == table


def test_fan_shapes_are_the_assumed_ones() -> None:
    table = [
        tuple(float(row[f"{hz:g}_dB_unweighted_re_LWA"]) for hz in bands.OCTAVE_HZ)
        for row in rows("fan_spectrum_shapes.csv")
    ]
    assert [shape for name, shape in sound.SHAPES.items() if name != "flat"] == table


def test_raid_levels() -> None:
    for row in rows("raid.csv"):
        raid = storage.RAID_LEVELS[int(row["level"])]
        assert raid.min_disks == int(row["min_disks"])
        assert raid.write_penalty == int(row["write_penalty"])


def test_disk_operations() -> None:
    table = [float(row["iops_planning"].rstrip("+")) for row in rows("disk_iops.csv")]
    assert list(storage.DISK_IOPS.values()) == table


def test_inlet_limits() -> None:
    table = {row["class"].split()[0]: row for row in rows("ashrae_tc99_2021.csv")}
    for name, limits in air.INLET_LIMITS.items():
        row = table[name]
        assert limits.temp_min_c == float(row["dry_bulb_C_min"])
        assert limits.temp_max_c == float(row["dry_bulb_C_max"])
        assert limits.dew_point_min_c == float(row["dew_point_min_C"])
        assert limits.dew_point_max_c == float(row["dew_point_max_C"])
        assert limits.rh_min_pct == float(row["rh_min_pct"] or 0)
        assert limits.rh_max_pct == float(row["rh_max_pct"])


def test_exposure_limits() -> None:
    table = [
        (float(row["criterion_dBA_8h"]), float(row["exchange_dB"]))
        for row in rows("noise_exposure_limits.csv")
    ]
    assert [(limit.criterion_dba, limit.exchange_db) for limit in exposure.EXPOSURE_LIMITS.values()] == table


def test_density_ratio_by_altitude() -> None:
    """Psychrometric library and HVAC tables, temperature held constant (printed to 0.001)."""
    for row in rows("air_density_altitude.csv"):
        altitude_m = float(row["altitude_m"])
        assert air.density_ratio(altitude_m) == pytest.approx(float(row["ratio_const_temp"]), abs=2e-4)
        assert 101_325 * air.density_ratio(altitude_m) == pytest.approx(
            float(row["pressure_Pa_std"]), rel=3e-4
        )


def test_circuits() -> None:
    for row in rows("branch_circuits.csv"):
        volts = float(row["supply"].split()[0])
        ours = power.circuit_continuous_w(float(row["breaker_A"]), volts)
        assert math.isclose(ours, float(row["continuous_80pct_W"]))
        circuit = Circuit("any", volts, float(row["breaker_A"]), ours)
        assert math.isclose(circuit.breaker_w, float(row["rated_W"]))


def test_the_share_of_a_start_is_that_of_four_disks_that_spin_up() -> None:
    """Data sheets: 2.8 A at 12 V a disk that spins up, 8 to 12.5 W one at work; four in a server of 200 W."""
    more_w = 4.0 * (2.8 * 12.0 - (8.0 + 12.5) / 2.0)
    assert more_w / 200.0 == pytest.approx(power.START_SHARE - 1.0, abs=0.05)
