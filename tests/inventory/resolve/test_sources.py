"""Sources as they are declared, read at a distance, or read on and off; the ± that comes with each."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from planner.domain.sound import Sound
from planner.physics.sound import a_weighted_total
from tests.inventory.base import changed, load_text, problems_of


def _sound(folder: Path, written: str) -> Sound:
    return load_text(folder, changed("sound: 40 dB", f"sound: {written}")).site.boxes[0].spec.sound


def _says(folder: Path, written: str) -> str:
    return " ".join(map(str, problems_of(folder, changed("sound: 40 dB", f"sound: {written}"))))


def test_bels_are_ten_decibels(tmp_path: Path) -> None:
    """6.1 B is 61 dB."""
    assert a_weighted_total(_sound(tmp_path, "6.1 B").idle_db) == pytest.approx(61.0)


def test_a_mean_takes_its_kv_as_plus_minus(tmp_path: Path) -> None:
    """L_WA,m goes into the sum as it is, K_v only says how far it may be off (ISO 9296:2017)."""
    sound = _sound(tmp_path, "{idle: 55 dB, loaded: 55 dB, declared: mean, kv: 4 dB}")
    assert a_weighted_total(sound.idle_db) == pytest.approx(55.0)
    assert sound.plus_minus_db == pytest.approx(4.0)


def test_an_upper_limit_with_its_k_is_taken_as_the_mean(tmp_path: Path) -> None:
    """L_WAd = L_WA + K (ISO 4871): 5.5 B with 3 dB is a mean of 52 dB that may be off by 3 dB."""
    mean = _sound(tmp_path, "{idle: 52 dB, loaded: 52 dB, declared: mean, kv: 3 dB}")
    assert _sound(tmp_path, "{idle: 5.5 B, loaded: 5.5 B, declared: maximum, kv: 3 dB}") == mean
    assert mean.plus_minus_db == 3.0


def test_a_k_says_what_declaration_it_belongs_to(tmp_path: Path) -> None:
    """Beside an L_WA,m it is not yet in the level, in an L_WAd it is."""
    assert "which holds it already" in _says(tmp_path, "{idle: 5.5 B, loaded: 5.5 B, kv: 3 dB}")


def test_an_old_declaration_is_said_to_be_conservative(tmp_path: Path) -> None:
    """It is summed as it stands, and `check` says so."""
    text = changed("sound: 40 dB", "sound: {idle: 5.5 B, loaded: 5.5 B, declared: maximum}")
    loaded = load_text(tmp_path, text)
    assert any("conservative" in str(item) for item in loaded.defaults)
    assert a_weighted_total(loaded.site.boxes[0].spec.sound.idle_db) == pytest.approx(55.0)


def test_a_pressure_at_a_metre_over_the_floor_is_eight_decibels_less(tmp_path: Path) -> None:
    """10 lg(2 / 4 pi) = -8.0 dB over a floor, -11.0 dB in the free field."""
    on_floor = _sound(tmp_path, "{idle: 50 dBA at 1 m, loaded: 50 dBA at 1 m}")
    hanging = _sound(tmp_path, "{idle: 50 dBA at 1 m, loaded: 50 dBA at 1 m, stood: free}")
    assert a_weighted_total(on_floor.idle_db) == pytest.approx(50.0 + 7.98, abs=0.01)
    assert a_weighted_total(hanging.idle_db) == pytest.approx(50.0 + 10.99, abs=0.01)


def test_a_pressure_read_in_the_room_holds_its_echoes(tmp_path: Path) -> None:
    """The same reading in the bare room means a quieter source: the rest is reflected."""
    there = _sound(tmp_path, "{idle: 50 dBA at 1 m, loaded: 50 dBA at 1 m, read_in: room}")
    assert a_weighted_total(there.idle_db) < 50.0 + 7.98 - 3.0


def test_on_and_off_readings_are_subtracted(tmp_path: Path) -> None:
    """60 on and 57 off leave 56.98 dBA; the ± grows by (GUM) 1.5 hypot(1, x) / (1 - x), x = 10^-0.3."""
    both = "{on: 60 dBA, off: 57 dBA, at: 1 m}"
    apart = _sound(tmp_path, f"{{idle: {both}, loaded: {both}}}")
    alone_dba = 10 * math.log10(10**6.0 - 10**5.7)
    plain = _sound(tmp_path, f"{{idle: {alone_dba:.4f} dBA at 1 m, loaded: 50 dBA at 1 m, read_in: room}}")
    assert a_weighted_total(apart.idle_db) == pytest.approx(a_weighted_total(plain.idle_db), abs=0.001)
    x = 10**-0.3
    assert apart.plus_minus_db == pytest.approx(math.hypot(3.0, 1.5 * math.hypot(1.0, x) / (1.0 - x)))
    assert apart.origin == "measured"


def test_on_and_off_too_close_together_are_refused(tmp_path: Path) -> None:
    """Under 3 dB the rest is mostly error of reading (common practice)."""
    words = _says(tmp_path, "{idle: {on: 60 dBA, off: 57.5 dBA, at: 1 m}, loaded: 60 dB}")
    assert "less than 3 dB above" in words
    assert "Read it closer" in words


def test_only_one_level_fills_the_other_and_is_marked(tmp_path: Path) -> None:
    """The usual distance between idle and loaded, as assumed."""
    text = changed("sound: 40 dB", "sound: {idle: {on: 60 dBA, off: 50 dBA, at: 1 m}}")
    box = load_text(tmp_path, text).site.boxes[0]
    assert "sound" in box.assumed


def test_a_class_gives_the_middle_of_its_range_and_half_of_it_as_plus_minus(tmp_path: Path) -> None:
    """1U with 40 mm fans: 50 to 62 dB idle, 60 to 80 loaded."""
    sound = _sound(tmp_path, "{class: rack_1u_40mm_fans}")
    assert sound.origin == "assumed"
    assert a_weighted_total(sound.idle_db) == pytest.approx(56.0)
    assert a_weighted_total(sound.loaded_db) == pytest.approx(70.0)
    assert sound.plus_minus_db == pytest.approx(10.0)
