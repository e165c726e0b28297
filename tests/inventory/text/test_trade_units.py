"""Units of the trade are read and told; what cannot be read gets no repair with the same number."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.inventory.text import units
from planner.inventory.text.units import Dimension, Size, UnitError, parse_size
from planner.report.check.page import page_of_site
from planner.report.check.text import check_lines, check_plain
from planner.report.common.text import paint
from tests.inventory.base import SMALL, changed, load_text
from tests.inventory.text.test_units import DIMENSIONS

NUMBERS = re.compile(r"[-+]?\d+(?:\.\d+)?")


@pytest.mark.parametrize(
    ("dimension", "written", "figure"),
    [
        (units.POWER, "9000 BTU/h", 9000 * 1055.05585262 / 3600),
        (units.POWER, "9000 btu/hr", 9000 * 1055.05585262 / 3600),
        (units.POWER, "2 tons of cooling", 24_000 * 1055.05585262 / 3600),
        (units.POWER, "36 kWh a week", 36_000 / 168),
        (units.POWER, "2.4 kWh/day", 100.0),
        (units.TEMPERATURE, "72 F", (72 - 32) / 1.8),
        (units.TEMPERATURE, "-40 °F", -40.0),
        (units.LENGTH, "10.5 ft", 3.2004),
        (units.LENGTH, "30 inches", 0.762),
        (units.AREA, "60 sq ft", 60 * 0.3048**2),
        (units.AREA, "60 ft²", 60 * 0.3048**2),
        (units.AREA, "12 in2", 12 * 0.0254**2),
        (units.AREA, "500 mm2", 0.0005),
        (units.FLOW, "1000 CFM", 1000 * 0.3048**3 / 60),
        (units.ALTITUDE, "5000 feet", 1524.0),
        (units.MEMORY, "48 GB", 48.0),
        (units.MEMORY, "1 TB", 1024.0),
    ],
)
def test_units_of_the_trade_are_converted(dimension: Dimension, written: str, figure: float) -> None:
    """By the exact definitions: 25.4 mm to the inch, 1055.05585262 J to the Btu, 168 h to the week.

    A GB of memory is 2^30 bytes (JEDEC JESD100B.01, prefixes for semiconductor storage).
    """
    assert dimension.parse(written) == pytest.approx(figure, rel=1e-12)


def test_a_size_in_feet_is_read() -> None:
    """The unit at the end holds for all three, in inches as well."""
    assert parse_size("10 x 8 x 8 ft") == Size(3.048, 8 * 0.3048, 8 * 0.3048)


def refusal(dimension: Dimension, written: str) -> UnitError | None:
    """Find what is said of a written figure that cannot be taken."""
    try:
        dimension.parse(written)
    except UnitError as error:
        return error
    return None


KNOWN = st.sampled_from([unit for each in DIMENSIONS for unit in each.factors])


@given(st.sampled_from(DIMENSIONS), st.integers(1, 5000), KNOWN | st.text("abcdeghkmqwz/", min_size=1))
def test_no_repair_keeps_the_number_and_swaps_the_unit(dimension: Dimension, number: int, unit: str) -> None:
    """A unit of another dimension, or none at all, is answered with another number, or the same unit."""
    said = refusal(dimension, f"{number} {unit}")
    spelled = unit.casefold() in [known.casefold() for known in dimension.factors]
    if said is not None and not spelled and "too" not in said.message:
        assert str(number) not in NUMBERS.findall(re.sub(r"m[23]", "", said.repair))


def test_other_letters_of_the_same_unit_are_a_repair() -> None:
    """The unit is the same; only its spelling is mended."""
    with pytest.raises(UnitError, match="write the unit as in '5 kW'"):
        units.POWER.parse("5 KW")


@pytest.mark.parametrize("written", ["1,500 W", "12,000 BTU/h", "1,250,000 W"])
def test_a_comma_between_thousands_is_no_decimal_comma(written: str) -> None:
    """1,500 W may be fifteen hundred: it is never told to become 1.500."""
    with pytest.raises(UnitError, match="write no comma") as caught:
        units.POWER.parse(written)
    assert "1.5" not in caught.value.repair


def test_the_page_says_how_figures_were_read(tmp_path: Path) -> None:
    """Line, path, what was written and what was taken; a figure in the schema's units is not told."""
    text = changed("takes_out: 2 kW", "takes_out: 9000 BTU/h")
    text = changed("4 x 3 x 2.5 m", "10 x 8 x 8 ft", text)
    text = changed("sound: 40 dB", "sound: 50 dBA at 3 ft", changed("16 GiB", "16 GB", text))
    loaded = load_text(tmp_path, text)
    told = [str(each) for each in loaded.conversions]
    assert told[:3] == [
        "site.yaml:1: room.size: 10 x 8 x 8 ft, read as 3.048 x 2.438 x 2.438 m",
        "site.yaml:8: cooling.cooler.takes_out: 9000 BTU/h, read as 2638 W",
        "site.yaml:10: boxes.oak.memory: 16 GB, read as 16 GiB. "
        "Memory counts in powers of two: a GB of it is a GiB.",
    ]
    assert told[3:] == ["site.yaml:10: boxes.oak.sound: 50 dBA at 3 ft, read as 50 dBA at 0.9144 m"]
    page = page_of_site("site.yaml", loaded)
    for lines in (check_lines(page), check_plain(page)):
        assert "9000 BTU/h, read as 2638 W" in paint(lines, colour=False)
    assert not load_text(tmp_path, SMALL).conversions
