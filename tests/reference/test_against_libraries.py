"""The same question put to an outside library, a thousand random times each, seeded."""

import random
import warnings
from collections.abc import Iterator
from types import ModuleType

import pytest

from planner.physics import air, bands, criteria, heat, rating, room, sound
from planner.physics.absorption import ABSORPTION

INPUTS = 1000
SEED = 20_240_601

MISSING = "needs the 'reference' extra"


def library(name: str) -> ModuleType:
    """Import a library of the `reference` extra, deaf to the warnings of its own imports."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        module: ModuleType = pytest.importorskip(name, reason=MISSING)
    return module


def draws() -> Iterator[random.Random]:
    """A thousand times the same seeded source of random numbers."""
    dice = random.Random(SEED)
    return (dice for _ in range(INPUTS))


def spectrum(dice: random.Random, low_db: float = 5, high_db: float = 90) -> tuple[float, ...]:
    """Eight random octave levels in dB."""
    return tuple(dice.uniform(low_db, high_db) for _ in bands.OCTAVE_HZ)


def test_sums_of_levels() -> None:
    """acoustics.decibel.dbsum over 1 to 20 levels."""
    decibel = library("acoustics.decibel")
    for dice in draws():
        levels = [dice.uniform(-20, 120) for _ in range(dice.randint(1, 20))]
        assert sound.add_levels(*levels) == pytest.approx(float(decibel.dbsum(levels)), abs=1e-9)


def test_background_correction() -> None:
    """acoustics.decibel.dbsub, readings at least 3 dB apart."""
    decibel = library("acoustics.decibel")
    for dice in draws():
        background = dice.uniform(10, 80)
        total = background + dice.uniform(3.0, 30)
        ours = sound.subtract_background(total, background)
        assert ours == pytest.approx(float(decibel.dbsub(total, background)), abs=1e-9)


def test_a_weighted_totals() -> None:
    """The library's own A column of IEC 61672-1 and its energy sum."""
    iec = library("acoustics.standards.iec_61672_1_2013")
    decibel = library("acoustics.decibel")
    nominal = [float(hz) for hz in iec.NOMINAL_THIRD_OCTAVE_CENTER_FREQUENCIES]
    weights = [float(iec.WEIGHTING_A[nominal.index(hz)]) for hz in bands.OCTAVE_HZ]
    for dice in draws():
        levels = spectrum(dice)
        theirs = decibel.dbsum([level + weight for level, weight in zip(levels, weights, strict=True)])
        assert sound.a_weighted_total(levels) == pytest.approx(float(theirs), abs=1e-9)


def test_nc_by_the_next_step() -> None:
    """acoustics.criterion.nc, which has the classic table and the next-curve convention."""
    numpy = library("numpy")
    criterion = library("acoustics.criterion")
    for dice in draws():
        near = dice.uniform(18, 66)
        levels = tuple(curve_db + dice.uniform(-8, 2) for curve_db in criteria.nc_curve(near))
        assert criteria.nc_next_step(levels) == int(criterion.nc(numpy.array(levels)))


def test_stc_where_the_eight_decibel_rule_does_not_bind() -> None:
    """acoustics.building.stc is an oracle only there: it does not know the rule."""
    numpy = library("numpy")
    building = library("acoustics.building")
    compared = 0
    for dice in draws():
        base = dice.uniform(15, 50)
        losses = [base + shape + dice.uniform(-3.4, 3.4) for shape in rating.STC_CONTOUR_DB]
        theirs = int(building.stc(numpy.array(losses)))
        gaps = [theirs + shape - loss for shape, loss in zip(rating.STC_CONTOUR_DB, losses, strict=True)]
        if max(gaps) < 8:
            assert rating.stc(losses, round_to_whole_db=False) == theirs
            compared += 1
    assert compared == INPUTS


def test_reverberation_time() -> None:
    """pyroomacoustics' Sabine and Eyring with c = 343 m/s, so 0.1611 for our rounded 0.161 (0.1 %)."""
    acoustics = library("pyroomacoustics.acoustics")
    for dice in draws():
        volume, surface, alpha = dice.uniform(10, 500), dice.uniform(30, 600), dice.uniform(0.02, 0.9)
        sabine = acoustics.rt60_sabine(surface, volume, alpha, 0.0, 343.0)
        eyring = acoustics.rt60_eyring(surface, volume, alpha, 0.0, 343.0)
        assert room.sabine_rt60_s(volume, surface * alpha) == pytest.approx(sabine, rel=1e-3)
        assert room.eyring_rt60_s(volume, surface, alpha) == pytest.approx(eyring, rel=1e-3)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("carpet-thin", "carpet_thin"),
        ("ceiling-tile-fissured", "ceiling_fissured_tile"),
        ("ceiling-plasterboard", "ceiling_plasterboard"),
        ("glass-double", "double_glazing_10mm"),
        ("door-wood", "wooden_door"),
        ("rockwool-50mm-40kg", "rockwool_50mm_40kgm3"),
        ("rockwool-50mm-80kg", "rockwool_50mm_80kgm3"),
        ("panel-fabric-mineral", "panel_fabric_covered_6pcf"),
    ],
)
def test_absorption_of_materials(ours: str, theirs: str) -> None:
    """pyroomacoustics' materials table, 125 Hz to 4 kHz."""
    table = library("pyroomacoustics.parameters").materials_data["absorption"]
    found = next(group[theirs] for group in table.values() if theirs in group)
    assert list(ABSORPTION[ours][1:7]) == pytest.approx(found["coeffs"][:6])


def test_density_of_air() -> None:
    """psychrolib's dry and moist air at the pressure of the altitude."""
    psychrolib = library("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    for dice in draws():
        temp_c, rh_pct, altitude_m = dice.uniform(-20, 55), dice.uniform(1, 100), dice.uniform(0, 4000)
        pressure = psychrolib.GetStandardAtmPressure(altitude_m)
        ratio = psychrolib.GetHumRatioFromRelHum(temp_c, rh_pct / 100, pressure)
        dry = psychrolib.GetDryAirDensity(temp_c, pressure)
        # psychrolib gives kilograms of moist air a cubic metre.
        moist = psychrolib.GetMoistAirDensity(temp_c, ratio, pressure)
        assert air.dry_air_density_kg_m3(temp_c, altitude_m) == pytest.approx(dry, rel=1e-4)
        assert air.moist_air_density_kg_m3(temp_c, rh_pct, altitude_m) == pytest.approx(moist, rel=1e-4)


def test_dew_point_and_humidity() -> None:
    """psychrolib's dew point, down to frost, to 0.01 K; and back."""
    psychrolib = library("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    for dice in draws():
        temp_c, rh_pct = dice.uniform(-10, 50), dice.uniform(5, 100)
        theirs = psychrolib.GetTDewPointFromRelHum(temp_c, rh_pct / 100)
        ours = air.dew_point_c(temp_c, rh_pct)
        assert ours == pytest.approx(theirs, abs=0.01)
        back = 100 * psychrolib.GetRelHumFromTDewPoint(temp_c, ours)
        assert air.relative_humidity_pct(temp_c, ours) == pytest.approx(back, abs=0.01)


def test_units_of_heat_and_airflow() -> None:
    """pint's international-table BTU, ton of refrigeration, cubic foot a minute and Fahrenheit step."""
    pint = library("pint")
    unit = pint.UnitRegistry()
    for dice in draws():
        value = dice.uniform(0.001, 50_000)
        watts, flow = unit.Quantity(value, "watt"), unit.Quantity(value, "m**3/s")
        step = unit.Quantity(value, "delta_degF")
        assert heat.btu_h_from_w(value) == pytest.approx(watts.to("Btu_it/hour").magnitude, rel=1e-7)
        # pint's ton rests on another BTU, 1.4e-7 away from the international table's.
        assert heat.tons_from_w(value) == pytest.approx(watts.to("refrigeration_ton").magnitude, rel=1e-6)
        assert heat.cfm_from_m3_s(value) == pytest.approx(flow.to("ft**3/min").magnitude, rel=1e-9)
        assert heat.kelvin_from_fahrenheit_rise(value) == pytest.approx(step.to("kelvin").magnitude, rel=1e-9)
