"""Written figures: every unit goes in and comes back the same."""

from __future__ import annotations

import contextlib
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.inventory.text import units
from planner.inventory.text.levels import Level, parse_level
from planner.inventory.text.units import Dimension, Size, UnitError, parse_size, write_size

DIMENSIONS = [value for value in vars(units).values() if isinstance(value, Dimension)]


def figures(dimension: Dimension) -> st.SearchStrategy[float]:
    """Make figures inside a dimension's range."""
    high = dimension.high if math.isfinite(dimension.high) else 1e12
    return st.floats(dimension.low, high, exclude_min=dimension.above_low, allow_subnormal=False)


@given(st.sampled_from(DIMENSIONS).flatmap(lambda each: st.tuples(st.just(each), figures(each))))
def test_a_written_figure_reads_back_the_same(case: tuple[Dimension, float]) -> None:
    """Writing and reading lose nothing, in every dimension."""
    dimension, figure = case
    assert dimension.parse(dimension.write(figure)) == figure


@given(st.text(max_size=30) | st.integers() | st.floats() | st.none() | st.lists(st.integers(), max_size=3))
def test_anything_else_is_one_clear_refusal(value: Any) -> None:
    """Whatever is written, the answer is a figure in range or a refusal with a sentence."""
    for dimension in DIMENSIONS:
        with contextlib.suppress(UnitError):
            assert dimension.low <= dimension.parse(value) <= dimension.high


@pytest.mark.parametrize(
    ("dimension", "written", "figure"),
    [
        (units.MEMORY, "512 MiB", 0.5),
        (units.MEMORY, "1 TiB", 1024.0),
        (units.DISK, "4 TB", 4000.0),
        (units.DISK, "1 GiB", 1.073741824),
        (units.POWER, "1.2 kW", 1200.0),
        (units.POWER, "140W", 140.0),
        (units.NETWORK, "1 Gbit/s", 1000.0),
        (units.NETWORK, "100 MB/s", 800.0),
        (units.FLOW, "360 m3/h", 0.1),
        (units.FLOW, "1000 cfm", 0.4719474432),
        (units.POWER_LEVEL, "6.1 B", 61.0),
        (units.TEMPERATURE, "-5 °C", -5.0),
        (units.HOURS, "90 min", 1.5),
        (units.CO2, "350 g/kWh", 0.35),
    ],
)
def test_units_mean_what_they_say(dimension: Dimension, written: str, figure: float) -> None:
    """Factors by definition of the units: binary for memory, decimal for disks, 0.3048 m to the foot."""
    assert dimension.parse(written) == pytest.approx(figure, rel=1e-12)


@pytest.mark.parametrize(
    ("dimension", "written", "repair"),
    [
        (units.MEMORY, "12 gigs", "write a figure of memory such as '16 GiB'"),
        (units.MEMORY, 16, "write a figure of memory such as '32 GiB'"),
        (units.POWER, "2,5 kW", "write a decimal point, such as '2.5 kW'"),
        (units.POWER, "-3 W", "It must be at least 0 W."),
        (units.SHARE, "130 %", "It may be at most 100 %."),
        (units.CURRENT, "0 A", "It must be more than 0 A."),
        (units.TEMPERATURE, math.nan, "Write one such as '26 °C'."),
        (units.NUMBER, math.inf, "Write one such as '2.5'."),
        (units.NUMBER, True, "Write a figure such as '2.5'."),
    ],
)
def test_a_refusal_says_what_to_write(dimension: Dimension, written: Any, repair: str) -> None:
    """Each wrong figure comes with its repair."""
    with pytest.raises(UnitError) as caught:
        dimension.parse(written)
    assert caught.value.repair == repair


@given(st.tuples(*[st.floats(0.01, 100.0)] * 3).map(lambda sides: Size(*sides)))
def test_a_size_reads_back_the_same(size: Size) -> None:
    """Length, width and height survive writing and reading."""
    assert parse_size(write_size(size)) == size


def test_a_size_takes_one_unit_or_three() -> None:
    """The unit may stand once at the end, or with each length."""
    assert parse_size("4.2 x 3.1 x 2.6 m") == parse_size("420 cm × 310 cm x 2.6 m") == Size(4.2, 3.1, 2.6)


def test_a_level_tells_power_from_pressure() -> None:
    """Bels and decibels are power; dBA needs a distance, for it may mean either."""
    assert parse_level("6.1 B") == Level(lwa_db=61.0)
    assert parse_level("52 dBA at 1 m") == Level(lpa_dba=52.0, distance_m=1.0)
    with pytest.raises(UnitError, match="pressure or a power"):
        parse_level("52 dBA")
