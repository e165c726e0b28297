"""Criteria: a curve rates as itself, more noise never rates better, ranges and limits as published."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics import criteria, exposure, rating
from planner.physics.criteria import NcEdition
from tests.physics.strategies import BAND, SPECTRA

EDITIONS = st.sampled_from(["classic", "2019"])
NCS = st.floats(min_value=15, max_value=70)


@given(NCS, EDITIONS)
def test_an_nc_curve_rates_as_itself(nc: float, edition: NcEdition) -> None:
    found = criteria.nc_rating(criteria.nc_curve(nc, edition), edition)
    assert found == pytest.approx(nc, abs=1e-9)


@given(SPECTRA, BAND, st.floats(min_value=0, max_value=30), EDITIONS)
def test_raising_a_band_never_rates_better(
    bands_db: tuple[float, ...], band: int, rise_db: float, edition: NcEdition
) -> None:
    raised = (*bands_db[:band], bands_db[band] + rise_db, *bands_db[band + 1 :])
    assert criteria.nc_rating(raised, edition) >= criteria.nc_rating(bands_db, edition)
    assert criteria.nc_next_step(raised, edition) >= criteria.nc_next_step(bands_db, edition)
    assert criteria.nr_rating(raised) >= criteria.nr_rating(bands_db)


@given(SPECTRA, EDITIONS)
def test_both_conventions_are_within_a_step(bands_db: tuple[float, ...], edition: NcEdition) -> None:
    apart = criteria.nc_next_step(bands_db, edition) - criteria.nc_rating(bands_db, edition)
    assert -1e-6 <= apart < criteria.NC_STEP


def test_outside_the_table() -> None:
    """Nothing is quieter than '15 or less'; 10 dB above all of NC-70 is carried on past it."""
    assert criteria.nc_rating((-math.inf,) * 8) == 15
    louder = tuple(each + 10 for each in criteria.nc_curve(70))
    assert criteria.nc_rating(louder) > 75


@given(st.floats(min_value=0, max_value=120))
def test_a_noise_rating_curve_rates_as_itself(nr: float) -> None:
    assert criteria.nr_rating(criteria.nr_curve(nr)) == pytest.approx(nr)


def test_what_a_level_is_good_for() -> None:
    """Published ranges: private office 38-42 dBA, NC 30-35; open plan 42-47 dBA; recording under 30 dBA."""
    assert criteria.good_for("private-office", 40, 33)
    assert not criteria.good_for("private-office", 40, 38)
    assert not criteria.good_for("recording", 33)
    assert criteria.uses_met(45) == ("open-plan", "lobby", "equipment-room")
    assert criteria.uses_met(20, 15)[0] == "recording"


@given(st.floats(min_value=0, max_value=90), st.floats(min_value=0, max_value=30))
def test_quieter_is_good_for_no_less(lp_dba: float, cut_db: float) -> None:
    assert set(criteria.uses_met(lp_dba)) <= set(criteria.uses_met(lp_dba - cut_db))


@pytest.mark.parametrize(
    ("stc", "background_dba", "privacy"),
    [(45, 35, "normal"), (51, 35, "confidential"), (45, 41, "confidential"), (45, 30, "none")],
)
def test_speech_privacy(stc: float, background_dba: float, privacy: str) -> None:
    """Sums of 80 and 86; quieting the server room by 5 dB takes the privacy away."""
    assert criteria.speech_privacy(stc, background_dba) == privacy


@pytest.mark.parametrize(
    ("regime", "lp_dba", "hours"),
    [
        ("niosh", 85, 8),
        ("niosh", 88, 4),
        ("osha", 95, 4),
        ("osha", 90, 8),
        ("canada", 87, 8),
        ("eu-lower", 83, 4),
    ],
)
def test_allowed_hours(regime: str, lp_dba: float, hours: float) -> None:
    """The criterion lasts eight hours; one exchange rate more, half."""
    assert exposure.allowed_hours(lp_dba, regime) == pytest.approx(hours)
    assert exposure.dose_percent([(lp_dba, hours)], regime) == pytest.approx(100)


@pytest.mark.parametrize(("lp_dba", "hours"), [(83, 20), (101, 0.32)])
def test_canadian_table(lp_dba: float, hours: float) -> None:
    """Printed: 83 dBA 20 h, 101 dBA 0.32 h."""
    assert exposure.allowed_hours(lp_dba, "canada") == pytest.approx(hours, rel=0.02)


def test_quiet_hours_do_not_count_towards_the_dose() -> None:
    assert exposure.osha_dose_percent([(79.9, 8)]) == 0
    assert exposure.osha_dose_percent([(89, 8)], counted_from_dba=90) == 0
    assert exposure.osha_dose_percent([(110, 0.5)]) == pytest.approx(100)
    assert exposure.osha_twa_dba(100) == 90


def test_a_whole_day_is_its_own_level() -> None:
    assert exposure.lex_8h_dba([(82, 8)]) == pytest.approx(82)
    assert exposure.lex_8h_dba([(82, 4), (82, 4), (99, 0)]) == pytest.approx(82)
    assert exposure.lex_8h_dba([]) == -math.inf


LOSSES = st.lists(st.floats(min_value=5, max_value=70), min_size=16, max_size=16)


@given(LOSSES, st.integers(min_value=0, max_value=15), st.floats(min_value=0, max_value=20))
def test_a_better_band_never_lowers_a_rating(losses: list[float], band: int, gain_db: float) -> None:
    better = [loss + gain_db if i == band else loss for i, loss in enumerate(losses)]
    assert rating.stc(better) >= rating.stc(losses)
    assert rating.weighted_reduction_rw(better) >= rating.weighted_reduction_rw(losses)


@given(LOSSES, st.integers(min_value=-5, max_value=5))
def test_a_rating_moves_with_its_curve(losses: list[float], change_db: int) -> None:
    moved = [round(loss) + change_db for loss in losses]
    assert rating.stc(moved) == rating.stc([round(loss) for loss in losses]) + change_db
