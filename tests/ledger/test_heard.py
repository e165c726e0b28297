"""Octave bands at a listener, NC, the background, and what a room is good for."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.sound import Listener
from planner.domain.state import state_today
from planner.ledger import ledger
from planner.ledger.heard import background_bands, bands_at, criterion_of, heard, loudest_season
from planner.physics import criteria, sound
from tests.kit.sites import plain_site, random_site
from tests.kit.states import random_state


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 5000))
def test_the_bands_weighted_are_the_level(seed: int) -> None:
    """The octave levels at a listener, A-weighted and summed, give the ledger's dBA in every season."""
    site = random_site(seed, seasons=3)
    state = random_state(site, seed)
    book = ledger(site, state)
    for listener in site.listeners:
        for entry in book.seasons:
            total = sound.a_weighted_total(bands_at(site, state, entry, listener))
            assert total == pytest.approx(entry.levels_dba[listener.name], abs=1e-6)


def test_a_background_has_its_level() -> None:
    """Its bands sum to what was read, falling by 5 dB an octave (neutral, RC Mark II)."""
    bands = background_bands(38.0)
    assert sound.a_weighted_total(bands) == pytest.approx(38.0)
    assert bands[0] - bands[1] == pytest.approx(5.0)


def test_total_and_nc_hold_room_and_background() -> None:
    """The total is an energy sum, and its NC is that of the summed bands (classic edition)."""
    site = plain_site()
    state = state_today(site)
    book = ledger(site, state)
    listener = Listener("reception", 30.0, partition=site.listeners[1].partition, background_dba=35.0)
    found = heard(site, state, book, listener)
    assert found.total_dba == pytest.approx(sound.add_levels(found.level_dba, 35.0), abs=1e-6)
    assert found.total_nc == pytest.approx(criteria.nc_rating(found.total_bands_db))
    assert found.total_nc >= found.nc


@pytest.mark.parametrize(
    ("use", "criterion"),
    [
        ("mixing sound for film", "recording"),
        ("meetings of four", "meeting"),
        ("video calls with clients", "teleconference"),
        ("desk by the window", "open-plan"),
        ("private office", "private-office"),
        ("repairs, an hour a week", "equipment-room"),
        ("lobby", "lobby"),
        ("storing paper", None),
        (None, None),
    ],
)
def test_the_words_of_a_use_tell_its_criterion(use: str | None, criterion: str | None) -> None:
    """Criteria by use are those of the room criteria table."""
    assert criterion_of(use) == criterion


def test_a_room_is_good_enough_or_not() -> None:
    """35 dBA in all is too loud to record in (under 30), and good for a private office (38 to 42)."""
    site = plain_site()
    state = state_today(site)
    book = ledger(site, state)
    base = site.listeners[1]
    assert loudest_season(site, book, base).levels_dba[base.name] == book.levels_dba[base.name]
    loud = heard(site, state, book, Listener("reception", 30.0, partition=base.partition, use="recording"))
    assert loud.good_enough is False
    assert set(loud.good_for) <= set(criteria.ROOM_CRITERIA)
