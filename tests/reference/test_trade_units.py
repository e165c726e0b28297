"""Conversion of units of the trade against the pint library, a thousand random figures each."""

import math
import random

import pytest

from planner.inventory.text import units
from planner.inventory.text.units import Dimension
from tests.reference.test_against_libraries import library

INPUTS = 1000
SEED = 20_270_301


@pytest.mark.slow
@pytest.mark.parametrize(
    ("dimension", "unit", "name", "base"),
    [
        (units.POWER, "BTU/h", "Btu_it / hour", "watt"),
        (units.POWER, "tons of cooling", "12000 * Btu_it / hour", "watt"),
        (units.POWER, "kWh/week", "kilowatt_hour / week", "watt"),
        (units.POWER, "kWh/day", "kilowatt_hour / day", "watt"),
        (units.LENGTH, "ft", "foot", "meter"),
        (units.LENGTH, "in", "inch", "meter"),
        (units.LENGTH, "mm", "millimeter", "meter"),
        (units.LENGTH, "cm", "centimeter", "meter"),
        (units.AREA, "ft2", "foot ** 2", "meter ** 2"),
        (units.AREA, "in2", "inch ** 2", "meter ** 2"),
        (units.AREA, "mm2", "millimeter ** 2", "meter ** 2"),
        (units.FLOW, "cfm", "foot ** 3 / minute", "meter ** 3 / second"),
        (units.FLOW, "m3/h", "meter ** 3 / hour", "meter ** 3 / second"),
        (units.FLOW, "l/s", "liter / second", "meter ** 3 / second"),
        (units.DISK, "GiB", "gibibyte", "gigabyte"),
        (units.TEMPERATURE, "°F", "degF", "degC"),
    ],
)
def test_units_of_the_trade(dimension: Dimension, unit: str, name: str, base: str) -> None:
    """The same figure in the base unit, to the last digits of a float."""
    registry = library("pint").UnitRegistry()
    dice = random.Random(SEED)
    most = dimension.high if math.isfinite(dimension.high) else 1e6
    scale = dimension.parse(f"2 {unit}") if dimension is not units.TEMPERATURE else 1.0
    for _ in range(INPUTS):
        figure = round(dice.uniform(0.05, min(1.0, most / scale)) * 100.0, 3)
        if unit == "°F":
            expected = registry.Quantity(figure, name).to(base).magnitude
        else:
            expected = (figure * registry.parse_expression(name)).to(base).magnitude
        assert dimension.parse(f"{figure} {unit}") == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_the_two_btus_differ_by_less_than_a_millionth() -> None:
    """Of the several Btu of SP 811, that of the International Table is taken; the rounded one is as near."""
    registry = library("pint").UnitRegistry()
    rounded_w = registry.parse_expression("9000 * Btu / hour").to("watt").magnitude
    assert units.POWER.parse("9000 BTU/h") == pytest.approx(rounded_w, rel=1e-6)
