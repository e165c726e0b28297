"""Criteria: a curve rates as itself, more noise never rates better, ranges and limits as published."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics import criteria, exposure
from tests.physics.strategies import BAND, SPECTRA

NCS = st.floats(min_value=15, max_value=70)


def nc_curve(nc: float) -> tuple[float, ...]:
    """Interpolate the octave levels in dB of an NC curve between the two of the table around it."""
    step = min(int(nc - 15) // 5, 10)
    pairs = zip(criteria.NC_CURVES_DB[step], criteria.NC_CURVES_DB[step + 1], strict=True)
    return tuple(low + (nc - criteria.NC_RATINGS[step]) / 5 * (high - low) for low, high in pairs)


@given(NCS)
def test_an_nc_curve_rates_as_itself(nc: float) -> None:
    assert criteria.nc_rating(nc_curve(nc)) == pytest.approx(nc, abs=1e-9)


@given(SPECTRA, BAND, st.floats(min_value=0, max_value=30))
def test_raising_a_band_never_rates_better(bands_db: tuple[float, ...], band: int, rise_db: float) -> None:
    raised = (*bands_db[:band], bands_db[band] + rise_db, *bands_db[band + 1 :])
    assert criteria.nc_rating(raised) >= criteria.nc_rating(bands_db)


def test_outside_the_table() -> None:
    """Nothing is quieter than '15 or less'; 10 dB above all of NC-70 is carried on past it."""
    assert criteria.nc_rating((-math.inf,) * 8) == 15
    assert criteria.nc_rating(tuple(each + 10 for each in nc_curve(70))) > 75


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
    ("regime", "lp_dba", "hours"),
    [
        ("NIOSH", 85, 8),
        ("NIOSH", 88, 4),
        ("OSHA", 95, 4),
        ("OSHA", 90, 8),
        ("NIOSH", 100, 0.25),
        ("OSHA", 100, 2),
    ],
)
def test_allowed_hours(regime: str, lp_dba: float, hours: float) -> None:
    """The criterion lasts eight hours; one exchange rate more, half. 100 dBA: 15 min and 2 h as printed."""
    assert exposure.allowed_hours(lp_dba, regime) == pytest.approx(hours)


@given(st.floats(min_value=-math.inf, max_value=150), st.floats(min_value=0, max_value=60))
def test_a_louder_place_is_never_borne_for_longer(level_dba: float, more_db: float) -> None:
    """And nothing lasts longer than a day."""
    for limit in exposure.EXPOSURE_LIMITS:
        allowed_h = exposure.allowed_hours(level_dba, limit)
        assert exposure.allowed_hours(level_dba + more_db, limit) <= allowed_h <= 24
