"""Usual measures: each can be used, is marked as assumed, and gives way to what is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.inventory.defaults.measure_library import LIBRARY
from planner.physics import fans
from planner.report.common.assumed import assumed_entries
from tests.inventory.base import changed, load_text, problems_of

BEHIND = """\
listeners:
  office:
    behind:
      elements: {wall: {material: brick-100mm, area: 9 m2}, door: {material: door-hollow-wood, area: 2 m2}}
      room: {size: 5 x 4 x 2.5 m}
"""


def _written(name: str) -> str:
    on_room = LIBRARY[name].part is not None or "adds" in LIBRARY[name].keys
    part = ", part: door" if LIBRARY[name].part is not None else ""
    taken_out = {"removes", "elsewhere"} & LIBRARY[name].keys.keys()
    target = "hub" if taken_out else "cooler" if name.startswith("cooler") else "oak"
    target = "room" if on_room else target
    measure = "gear: {hub: {sort: ups, power: 30 W}}\n"
    measure += f"measures:\n  step: {{library: {name}, target: {target}{part}}}\n"
    return changed("listeners:\n  desk: {distance: 2 m, target: 45 dBA}\n", BEHIND) + measure


@pytest.mark.parametrize("name", LIBRARY)
def test_every_usual_measure_can_be_used_and_is_marked(name: str, tmp_path: Path) -> None:
    """It has an effect, and whatever it gives is listed as assumed."""
    site = load_text(tmp_path, _written(name)).site
    measure = site.measures[0]
    assert measure.source_effect is not None or measure.room_effect is not None
    assert measure.assumed
    assert "step" in {entry.of for entry in assumed_entries(site)}


def test_what_is_written_wins(tmp_path: Path) -> None:
    """A price of one's own is not assumed; the effect still is."""
    text = _written("fan-swap-1u").replace("target: oak", "target: oak, price: 99")
    measure = load_text(tmp_path, text).site.measures[0]
    assert measure.price == pytest.approx(99.0)
    assert "price" not in measure.assumed
    assert {"quieter", "hours"} <= measure.assumed


def test_a_part_must_be_named_and_exist(tmp_path: Path) -> None:
    """A door seal without a door."""
    text = _written("door-seal")
    assert "Write 'part:'" in str(problems_of(tmp_path, text.replace(", part: door", ""))[0])
    assert "Did you mean 'door'?" in str(problems_of(tmp_path, text.replace("part: door", "part: dor"))[0])


def test_an_unknown_name_is_refused_with_the_nearest(tmp_path: Path) -> None:
    """The library is closed."""
    text = _written("fan-swap-1u").replace("fan-swap-1u", "fan-swap-1")
    assert "fan-swap-1u" in str(problems_of(tmp_path, text)[0])


def test_fan_effects_stay_under_the_fan_laws() -> None:
    """Undervolting and slower fans promise no more than 50 lg of the speed ratio gives."""
    assert -fans.speed_change_db(fans.voltage_speed_ratio(12, 9, fans.ELECTRONICS_DROP_V)) >= 6.0
    assert -fans.speed_change_db(0.72) >= 7.0


def test_prices_are_in_the_usual_range() -> None:
    """Many under 50, most under 500, none over 1,000 (common practice)."""
    prices = [float(item.keys["price"]) for item in LIBRARY.values()]
    assert sum(price < 50 for price in prices) >= len(prices) // 3
    assert sum(price < 500 for price in prices) >= 0.8 * len(prices)
    assert max(prices) <= 1000.0
