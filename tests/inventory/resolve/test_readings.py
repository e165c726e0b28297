"""Readings of today's level, confidences, and the keys for air and supply."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from planner.domain.measures import SourceEffect
from planner.domain.state import state_today
from planner.ledger import ledger, today_ledger
from planner.ledger.certainty import room_sigma_db
from tests.inventory.base import SMALL, changed, load_text, problems_of


def _with(reading: str) -> str:
    return f"{SMALL}readings:\n  desk: {reading}\n"


def test_a_reading_fixes_todays_level(tmp_path: Path) -> None:
    """The foretold level is moved to what the meter shows; the offset is listed."""
    plain = today_ledger(load_text(tmp_path, SMALL).site).levels_dba["desk"]
    loaded = load_text(tmp_path, _with(f"{{level: {plain + 4:.3f} dBA}}"))
    assert today_ledger(loaded.site).levels_dba["desk"] == pytest.approx(plain + 4.0, abs=0.002)
    offset = next(item for item in loaded.defaults if item.path == "listeners.desk.offset")
    assert offset.value == "+4.0 dB"


def test_differences_are_foretold_from_it(tmp_path: Path) -> None:
    """What a change takes away is the same with and without a reading."""
    drops = []
    for text in (SMALL, _with("{level: 58 dBA}")):
        site = load_text(tmp_path, text).site
        state = state_today(site)
        quiet = replace(site.cooling[0], sound=replace(site.cooling[0].sound, loaded_db=(30.0,) * 8))
        after = ledger(replace(site, cooling=(quiet,)), state).levels_dba["desk"]
        drops.append(ledger(site, state).levels_dba["desk"] - after)
    assert drops[0] == pytest.approx(drops[1])
    assert SourceEffect().removes is False


def test_the_background_is_taken_off_a_reading(tmp_path: Path) -> None:
    """60 dBA with the room, 57 dBA without: the room alone is 56.98 dBA."""
    site = load_text(tmp_path, _with("{level: 60 dBA, background: 57 dBA}")).site
    assert site.listeners[0].reading_dba == pytest.approx(56.98, abs=0.01)


def test_a_reading_in_the_background_is_refused(tmp_path: Path) -> None:
    """Under 3 dB the room cannot be told apart."""
    found = problems_of(tmp_path, _with("{level: 50 dBA, background: 48 dBA}"))
    assert "less than 3 dB" in str(found[0])


def test_an_offset_is_bounded_and_doubted(tmp_path: Path) -> None:
    """30 dB off is a mistake in the file, not the room."""
    plain = today_ledger(load_text(tmp_path, SMALL).site).levels_dba["desk"]
    loaded = load_text(tmp_path, _with(f"{{level: {plain + 30:.1f} dBA}}"))
    assert loaded.site.listeners[0].offset_db == pytest.approx(10.0)
    assert any("source or a gap that is missing" in str(item) for item in loaded.warnings)


def test_a_reading_for_nobody_is_refused(tmp_path: Path) -> None:
    """With the nearest name."""
    found = problems_of(tmp_path, f"{SMALL}readings:\n  desc: {{level: 50 dBA}}\n")
    assert "Did you mean 'desk'?" in str(found[0])


def test_a_reading_makes_the_level_surer(tmp_path: Path) -> None:
    """±2 dB instead of ±5 dB for the room."""
    plain, read = (load_text(tmp_path, text).site.listeners[0] for text in (SMALL, _with("{level: 52 dBA}")))
    assert room_sigma_db(read) < room_sigma_db(plain)


def test_a_confidence_is_taken_with_a_target_only(tmp_path: Path) -> None:
    """90 % is taken; without a target, or under one half, it means nothing."""
    text = changed("target: 45 dBA}", "target: 45 dBA, confidence: 90 %}")
    assert load_text(tmp_path, text).site.listeners[0].confidence == pytest.approx(0.9)
    for wrong in (
        "confidence: 90 %}",
        "target: 45 dBA, confidence: 40 %}",
        "target: 45 dBA, confidence: 100 %}",
    ):
        assert problems_of(tmp_path, changed("target: 45 dBA}", wrong))


def test_warm_air_is_doubted(tmp_path: Path) -> None:
    """In winter the building must not heat the room."""
    duct = "  duct: {air: {winter: {flow: 200 m3/h, supply: 24 °C}}, power: 10 W, sound: 30 dB}\nboxes:"
    loaded = load_text(tmp_path, changed("boxes:", duct))
    assert any("warmer than the 21 °C around the room" in str(item) for item in loaded.warnings)


def test_air_and_supply_keys(tmp_path: Path) -> None:
    """Heat capacity, battery energy, alarm, class and dew point."""
    text = changed("room: {size: 4 x 3 x 2.5 m}", "room: {size: 4 x 3 x 2.5 m, heat_capacity: 500 kJ/K}")
    text = changed("  circuits:", "  ups_energy: 900 Wh\n  circuits:", text)
    text += "policy: {alarm: 32 °C, equipment: A1}\n"
    text += "seasons:\n  summer: {surroundings: 26 °C, hours: 4000, dew_point: 14 °C}\n"
    text += "  winter: {surroundings: 21 °C, hours: 4760}\n"
    site = load_text(tmp_path, text).site
    assert site.room.heat_capacity_j_k == pytest.approx(500e3)
    assert site.supply.ups_wh == pytest.approx(900.0)
    assert (site.policy.alarm_c, site.policy.equipment_class) == (32.0, "A1")
    assert [season.dew_point_c for season in site.seasons] == [14.0, None]
