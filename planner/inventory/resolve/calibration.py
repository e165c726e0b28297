"""Readings of today's level to offsets: the model is moved to what is heard, differences are foretold."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.inventory.models.readings import ReadingModel
from planner.inventory.resolve.recorder import Recorder
from planner.ledger import today_ledger
from planner.physics.heat import NeverSettlesError
from planner.physics.sound import subtract_background

MOST_OFFSET_DB = 10.0
"""An offset further from zero hides a mistake in the inventory: twice what a room may be off."""


def calibrated(site: Site, readings: Mapping[str, ReadingModel], recorder: Recorder) -> Site:
    """Make the site whose listeners have the offset that their reading of today shows, at most ±10 dB."""
    listeners = tuple(_with_offset(site, item, readings.get(item.name), recorder) for item in site.listeners)
    return replace(site, listeners=listeners)


def room_alone_dba(reading: ReadingModel) -> float:
    """Compute what the room's sources bring to where the reading was made, without the background."""
    if reading.background_dba is None:
        return reading.level_dba
    return subtract_background(reading.level_dba, reading.background_dba)


def foretold_dba(site: Site, listener: Listener) -> float | None:
    """Compute today's level at a listener with its offset; None where the room never settles or is silent."""
    try:
        level_dba = today_ledger(site).levels_dba[listener.name]
    except NeverSettlesError:
        return None
    return level_dba if math.isfinite(level_dba) else None


def _with_offset(site: Site, item: Listener, reading: ReadingModel | None, recorder: Recorder) -> Listener:
    foretold = foretold_dba(site, item) if reading is not None else None
    if reading is None or foretold is None:
        return item
    alone = room_alone_dba(reading)
    apart_db = alone - foretold
    offset_db = max(-MOST_OFFSET_DB, min(MOST_OFFSET_DB, apart_db))
    why = f"{alone:.0f} dBA read, {foretold:.0f} dBA foretold without it"
    recorder.note(f"listeners.{item.name}.offset", f"{offset_db:+.1f} dB", why)
    return replace(item, offset_db=offset_db, reading_dba=alone)
