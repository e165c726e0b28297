"""Levels: what must hold whatever the numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics import sound
from tests.physics.strategies import BAND, LEVELS, SPECTRA


@given(st.lists(LEVELS, max_size=12), LEVELS)
def test_adding_a_source_never_lowers_a_level(levels_db: list[float], another_db: float) -> None:
    assert sound.add_levels(*levels_db, another_db) >= sound.add_levels(*levels_db) - 1e-12
    assert sound.add_levels(*levels_db, another_db) >= another_db


@given(st.lists(LEVELS, min_size=1, max_size=12), LEVELS, st.floats(min_value=0, max_value=60))
def test_a_quieter_source_never_raises_the_sum(
    others_db: list[float], source_db: float, cut_db: float
) -> None:
    before = sound.add_levels(*others_db, source_db)
    assert sound.add_levels(*others_db, source_db - cut_db) <= before + 1e-9


@given(LEVELS)
def test_two_equal_sources_are_three_decibels_up(level_db: float) -> None:
    """10 lg 2 = 3.0103 dB."""
    assert sound.add_levels(level_db, level_db) == pytest.approx(level_db + 3.0103, abs=1e-4)


@given(st.permutations([31.0, 48.5, 52.25, 60.0, 60.0]))
def test_the_order_of_sources_does_not_matter(levels_db: list[float]) -> None:
    assert sound.add_levels(*levels_db) == pytest.approx(sound.add_levels(*sorted(levels_db)), abs=1e-12)


def test_nothing_is_silent_and_silence_adds_nothing() -> None:
    assert sound.add_levels() == -math.inf
    assert sound.add_levels(-math.inf, -math.inf) == -math.inf
    assert sound.add_levels(42.0, -math.inf) == 42.0
    assert sound.level(0) == -math.inf
    assert sound.energy(-math.inf) == 0
    assert sound.add_bands() == (-math.inf,) * 8


@given(LEVELS)
def test_energy_and_level_undo_each_other(level_db: float) -> None:
    assert sound.level(sound.energy(level_db)) == pytest.approx(level_db, abs=1e-9)


@given(LEVELS, st.floats(min_value=-20, max_value=60))
def test_a_background_taken_off_is_the_source_again(background_db: float, above_db: float) -> None:
    source_db = background_db + above_db
    total_db = sound.add_levels(source_db, background_db)
    if total_db - background_db < 3:
        with pytest.raises(ValueError, match="less than 3 dB above the background"):
            sound.subtract_background(total_db, background_db)
    else:
        assert sound.subtract_background(total_db, background_db) == pytest.approx(source_db, abs=1e-6)


@given(st.floats(min_value=3, max_value=60), st.floats(min_value=0, max_value=3))
def test_a_corrected_level_is_never_surer_than_the_readings(above_db: float, reading_pm_db: float) -> None:
    found = sound.background_uncertainty_db(40 + above_db, 40, reading_pm_db)
    assert found >= reading_pm_db


def test_uncertainty_of_a_corrected_level_by_hand() -> None:
    """6.02 dB apart is Eb/Et = 1/4: sqrt(1 + 1/16) / (3/4) = 1.3744 times the reading's."""
    apart_db = 10 * math.log10(4)
    assert sound.background_uncertainty_db(50 + apart_db, 50, 1.0) == pytest.approx(1.3744, abs=1e-4)


@given(LEVELS, st.sampled_from(sorted(sound.SHAPES)))
def test_an_assumed_spectrum_has_the_level_asked_for(lwa_db: float, shape: str) -> None:
    assert sound.a_weighted_total(sound.spectrum_for(lwa_db, shape)) == pytest.approx(lwa_db, abs=1e-9)


@given(SPECTRA, BAND, st.floats(min_value=0, max_value=30))
def test_raising_a_band_never_lowers_the_dba(bands_db: tuple[float, ...], band: int, rise_db: float) -> None:
    raised = (*bands_db[:band], bands_db[band] + rise_db, *bands_db[band + 1 :])
    assert sound.a_weighted_total(raised) >= sound.a_weighted_total(bands_db) - 1e-9


@given(SPECTRA, SPECTRA)
def test_bands_add_as_levels_do(one: tuple[float, ...], other: tuple[float, ...]) -> None:
    both = sound.add_bands(one, other)
    assert both == pytest.approx([sound.add_levels(a, b) for a, b in zip(one, other, strict=True)])
    assert sound.a_weighted_total(both) == pytest.approx(
        sound.add_levels(sound.a_weighted_total(one), sound.a_weighted_total(other)), abs=1e-9
    )


@given(LEVELS, st.floats(min_value=0.05, max_value=50), st.sampled_from(sorted(sound.SURFACE_Q)))
def test_power_from_pressure_and_back(lp_dba: float, distance_m: float, surface: str) -> None:
    lw_dba = sound.lw_from_pressure(lp_dba, distance_m, surface)
    assert lw_dba + sound.distance_transfer_db(distance_m, surface) == pytest.approx(lp_dba)


def test_a_small_box_on_a_surface_is_eight_decibels_down_at_a_metre() -> None:
    """The trade's rule: L_WA to 1 m is -8 dB over a floor, -11 dB in the free field."""
    assert sound.lw_from_pressure(50, 1, "floor") == pytest.approx(58, abs=0.05)
    assert sound.lw_from_pressure(50, 1) == pytest.approx(61, abs=0.05)
