"""What is heard at a listener: octave bands, NC, the level with the background, and what it is good for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from planner.domain.site import Site
from planner.domain.sound import Bands, Listener
from planner.domain.state import State
from planner.ledger.effects import quieted
from planner.ledger.hearing import source_bands, transfer_db
from planner.ledger.sums import Ledger, SeasonLedger, sounding
from planner.physics import criteria, sound
from planner.physics.bands import OCTAVE_HZ

NEUTRAL_DB_PER_OCTAVE = -5.0
"""Fall of a neutral spectrum (RC Mark II, ANSI/ASA S12.2 annex D): taken for a background read in dBA."""

USE_WORDS: Mapping[str, tuple[str, ...]] = {
    "recording": ("recording", "broadcast", "mixing", "mastering", "studio"),
    "concert": ("concert",),
    "teleconference": ("teleconference", "video call", "video conference", "board", "executive"),
    "meeting": ("meeting", "conference"),
    "private-office": ("private office", "private-office", "classroom", "consulting", "treatment"),
    "lobby": ("lobby", "laboratory"),
    "equipment-room": ("equipment", "workshop", "kitchen", "repair", "server room"),
    "open-plan": ("open-plan", "open plan", "office", "desk", "reception"),
}
"""Words in a listener's use that tell which room criterion it asks for, the first that matches."""


@dataclass(frozen=True)
class Heard:
    """What the room's sources bring to a listener in its loudest quiet season, alone and with the background.

    ``nc`` and ``total_nc`` are tangency numbers (15: or less); the total takes a neutral spectrum for the
    background. ``criterion`` is the use it is judged for, None where nobody says; ``good_enough`` judges the
    total. ``good_for`` lists every use that the total is low enough for.
    """

    level_dba: float
    bands_db: Bands
    nc: float
    total_dba: float
    total_bands_db: Bands
    total_nc: float
    criterion: str | None
    good_enough: bool | None
    good_for: tuple[str, ...]


def heard(site: Site, state: State, book: Ledger, listener: Listener) -> Heard:
    """Compute what a listener hears of a state whose ledger is ``book``."""
    season = loudest_season(site, book, listener)
    bands_db = bands_at(site, state, season, listener)
    total_db = sound.add_bands(bands_db, background_bands(listener.background_dba))
    total_dba, total_nc = sound.a_weighted_total(total_db), criteria.nc_rating(total_db)
    criterion = criterion_of(listener.use)
    return Heard(
        level_dba=book.levels_dba[listener.name],
        bands_db=bands_db,
        nc=criteria.nc_rating(bands_db),
        total_dba=total_dba,
        total_bands_db=total_db,
        total_nc=total_nc,
        criterion=criterion,
        good_enough=None if criterion is None else criteria.good_for(criterion, total_dba, total_nc),
        good_for=criteria.uses_met(total_dba, total_nc),
    )


def loudest_season(site: Site, book: Ledger, listener: Listener) -> SeasonLedger:
    """Find the quiet season in which a listener hears most (of all seasons where none is quiet)."""
    pairs = list(zip(book.seasons, site.seasons, strict=True))
    quiet = [entry for entry, season in pairs if season.quiet] or [entry for entry, _ in pairs]
    return max(quiet, key=lambda entry: entry.levels_dba[listener.name])


def bands_at(site: Site, state: State, entry: SeasonLedger, listener: Listener) -> Bands:
    """Compute the unweighted octave levels at a listener in a season, dB; minus infinity: nothing sounds."""
    season = next(item for item in site.seasons if item.name == entry.season)
    path = transfer_db(site, listener, state.measures)
    rows: list[Bands] = []
    for name, _, base, load in sounding(site, state, season):
        source = quieted(site, name, base, state.measures)
        if source is not None:
            rows.append(source_bands(source, path, load, entry.temperature_c))
    return tuple(sound.level(math.fsum(row[band] for row in rows)) for band in range(len(OCTAVE_HZ)))


def background_bands(background_dba: float | None) -> Bands:
    """Compute octave levels of a background known in dBA, with a neutral spectrum (assumed)."""
    if background_dba is None:
        return (sound.SILENCE_DB,) * len(OCTAVE_HZ)
    shape = tuple(NEUTRAL_DB_PER_OCTAVE * octave for octave in range(len(OCTAVE_HZ)))
    return sound.shift_bands(shape, background_dba - sound.a_weighted_total(shape))


def criterion_of(use: str | None) -> str | None:
    """Look up the room criterion that a use asks for, None where its words tell of none."""
    text = (use or "").lower()
    if text in criteria.ROOM_CRITERIA:
        return text
    for name, words in USE_WORDS.items():
        if any(word in text for word in words):
            return name
    return None
