"""The constants carried over from the reference tables still say what the tables say."""

import math

import pytest

from planner.domain.machines import Circuit
from planner.physics import air, bands, criteria, elements, exposure, power, sound, storage, supplies
from planner.physics.absorption import ABSORBERS
from tests.reference.tables import OCTAVES, rows


def test_a_weighting_is_the_nominal_table() -> None:
    table = {float(row["freq_hz"]): float(row["A_dB"]) for row in rows("a_weighting_iec61672.csv")}
    assert tuple(table[hz] for hz in bands.OCTAVE_HZ) == bands.A_WEIGHTING_DB


@pytest.mark.parametrize(("edition", "name"), [("classic", "classic"), ("2019", "S12.2-2019")])
def test_nc_curves_by_edition(edition: str, name: str) -> None:
    table = [row for row in rows("nc_curves.csv") if name in row["edition"]]
    curves = tuple(tuple(float(row[f"{hz:g}"]) for hz in bands.OCTAVE_HZ) for row in table)
    assert tuple(int(row["NC"]) for row in table) == criteria.NC_RATINGS
    assert curves == criteria.NC_CURVES_DB[edition]


def test_nr_coefficients() -> None:
    table = {float(row["freq_hz"]): (float(row["a"]), float(row["b"])) for row in rows("nr_coefficients.csv")}
    assert tuple(table[hz] for hz in bands.OCTAVE_HZ) == criteria.NR_COEFFICIENTS


def test_every_element_keeps_its_octaves_and_its_printed_stc() -> None:
    table = rows("transmission_loss_octave.csv")
    ours = [(*element.tl_db[1:7], element.printed_stc) for element in elements.ELEMENTS.values()]
    assert ours == [(*(float(row[hz]) for hz in OCTAVES), int(row["STC_printed"])) for row in table]
    assert len(elements.ELEMENTS) == 18


def test_every_absorber_keeps_its_octaves() -> None:
    table = [tuple(float(row[hz]) for hz in OCTAVES) for row in rows("absorption_coefficients.csv")]
    assert [absorber.alphas[1:7] for absorber in ABSORBERS.values()] == table


def test_fan_shapes_are_the_assumed_ones() -> None:
    table = [
        tuple(float(row[f"{hz:g}_dB_unweighted_re_LWA"]) for hz in bands.OCTAVE_HZ)
        for row in rows("fan_spectrum_shapes.csv")
    ]
    assert [shape for name, shape in sound.SHAPES.items() if name != "flat"] == table


def test_psu_efficiencies() -> None:
    supply_names = {"115V": "115V", "230Vred": "230V-redundant", "230Vint": "230V-internal"}
    for row in rows("psu_80plus.csv"):
        level = row["level"].lower().replace(" ", "")
        for column, supply in supply_names.items():
            shares = {10: row[f"{column}_10"], 20: row[f"{column}_20"], 50: row[f"{column}_50"]} | {
                100: row[f"{column}_100"]
            }
            printed = {share / 100: float(value) / 100 for share, value in shares.items() if value}
            assert supplies.PSU_EFFICIENCY[supply].get(level, {}) == printed


def test_poe_classes() -> None:
    table = {int(row["class"]): (float(row["PSE_W"]), float(row["PD_W"])) for row in rows("poe_classes.csv")}
    assert {k: (c.sent_w, c.received_w) for k, c in supplies.POE_CLASSES.items()} == table


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
        assert air.pressure_pa(altitude_m) == pytest.approx(float(row["pressure_Pa_std"]), rel=3e-4)
        if row["rho_moist_20C_50pct"]:
            ours = air.moist_air_density_kg_m3(20, 50, altitude_m)
            assert ours == pytest.approx(float(row["rho_moist_20C_50pct"]), abs=5e-4)


def test_circuits() -> None:
    for row in rows("branch_circuits.csv"):
        volts = float(row["supply"].split()[0])
        ours = power.circuit_continuous_w(float(row["breaker_A"]), volts)
        assert math.isclose(ours, float(row["continuous_80pct_W"]))
        circuit = Circuit("any", volts, float(row["breaker_A"]), ours)
        assert math.isclose(circuit.breaker_w, float(row["rated_W"]))


def test_the_share_of_a_start_is_that_of_four_disks_that_spin_up() -> None:
    """Published: 2.8 A at 12 V for each disk; in a server of 200 W at its peak."""
    more_w = 4.0 * (power.spin_up_w() - power.component_w("disk-3.5-7200", active=True))
    assert more_w / 200.0 == pytest.approx(power.START_SHARE - 1.0, abs=0.05)
