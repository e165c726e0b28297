"""The same question put to an outside library, a thousand random times each, seeded."""

import math
import random
import warnings
from collections.abc import Iterator
from types import ModuleType

import pytest

from planner.physics import air, bands, criteria, heat, sound
from planner.physics.absorption import ABSORPTION
from tests.physics.test_criteria import nc_curve

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


@pytest.mark.slow
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
        near = nc_curve(dice.uniform(18, 66))
        levels = tuple(curve_db + dice.uniform(-8, 2) for curve_db in near)
        next_step = 5 * math.ceil(round(criteria.nc_rating(levels), 6) / 5)
        assert next_step == int(criterion.nc(numpy.array(levels)))


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


def test_density_by_altitude() -> None:
    """psychrolib's dry air at the pressure of the altitude, over that at sea level, temperature held."""
    psychrolib = library("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    for dice in draws():
        temp_c, altitude_m = dice.uniform(-20, 55), dice.uniform(0, 4000)
        there, sea = (
            psychrolib.GetDryAirDensity(temp_c, psychrolib.GetStandardAtmPressure(height))
            for height in (altitude_m, 0.0)
        )
        assert air.density_ratio(altitude_m) == pytest.approx(there / sea, rel=1e-4)


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
    """pint's international-table BTU and cubic foot a minute."""
    pint = library("pint")
    unit = pint.UnitRegistry()
    for dice in draws():
        value = dice.uniform(0.001, 50_000)
        watts, flow = unit.Quantity(value, "watt"), unit.Quantity(value, "m**3/s")
        assert heat.btu_h_from_w(value) == pytest.approx(watts.to("Btu_it/hour").magnitude, rel=1e-7)
        assert heat.cfm_from_m3_s(value) == pytest.approx(flow.to("ft**3/min").magnitude, rel=1e-9)
