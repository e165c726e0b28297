"""An order as a calendar file (RFC 5545): a wave an entry, and one for each rollback deadline."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta

from icalendar import Alarm, Calendar, Event

from planner.domain import practice
from planner.domain.site import Site
from planner.moves.documents.time_zones import described
from planner.moves.documents.wave_page import turn_back
from planner.moves.grid.windows import zone_of
from planner.moves.tasks.wave import Order, Wave

PRODUCT = "-//Stillroom//Moves//EN"
WARN_BEFORE = timedelta(days=2)


def calendar(site: Site, order: Order, stamp: datetime) -> bytes:
    """Write the calendar of an order on dates.

    Parameters
    ----------
    stamp
        When the calendar is made, with a time zone; it goes into every entry.

    Raises
    ------
    ValueError
        When the order has no dates, or the stamp no time zone.
    """
    if stamp.tzinfo is None:
        raise ValueError("the stamp of a calendar needs a time zone")
    found = Calendar()
    found.add("prodid", PRODUCT)
    found.add("version", "2.0")
    found.add("x-wr-calname", f"Moves: {site.name}")
    dates = [
        date for wave in order.waves for date in (wave.start, wave.rollback_deadline) if date is not None
    ]
    zone = zone_of(site.windows)
    if dates and zone.key != "UTC":
        found.add_component(described(zone, min(dates), max(dates)))
    for wave in order.waves:
        if wave.start is None or wave.end is None:
            raise ValueError("the order has no dates: schedule it first")
        found.add_component(_wave(site, wave, wave.start, wave.end, stamp))
        if wave.moves:
            found.add_component(_deadline(site, wave, wave.end, stamp))
    data: bytes = found.to_ical()
    return data


def _entry(site: Site, sort: str, wave: Wave, stamp: datetime) -> Event:
    event = Event()
    key = f"{site.name}\n{sort}\n{wave.number}"
    event.add("uid", f"{hashlib.sha256(key.encode()).hexdigest()[:32]}@stillroom")
    event.add("dtstamp", stamp.astimezone(UTC))
    return event


def _wave(site: Site, wave: Wave, start: datetime, end: datetime, stamp: datetime) -> Event:
    event = _entry(site, "wave", wave, stamp)
    event.add("dtstart", _unmistakable(start))
    event.add("dtend", _unmistakable(end))
    event.add("summary", f"Wave {wave.number}: {wave.name}")
    event.add("description", _description(wave))
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add(
        "description",
        f"Lower name records to {practice.TTL_S} s, test the restores, look at the go/no-go list",
    )
    alarm.add("trigger", -WARN_BEFORE)
    event.add_component(alarm)
    return event


def _unmistakable(moment: datetime) -> datetime:
    """Compute a moment by the clock on the wall, in UTC where that clock shows its time twice or never.

    Readers take a time that comes twice for the first one (RFC 5545, 3.3.5).
    """
    offsets = {moment.replace(fold=fold).utcoffset() for fold in (0, 1)}
    return moment if len(offsets) == 1 else moment.astimezone(UTC)


def _description(wave: Wave) -> str:
    lines = [task.text for task in wave.tasks]
    last = turn_back(wave)
    back = [] if last is None else [f"Turn back at {last:%H:%M} at the latest."]
    back += [f"Way back: {text}" for text in wave.rollback]
    return "\n".join([*lines, *back, *(f"Strained: {text}" for text in wave.breaches)])


def _deadline(site: Site, wave: Wave, end: datetime, stamp: datetime) -> Event:
    """An entry of no length at the moment until which the old machines are kept."""
    deadline = wave.rollback_deadline or end
    event = _entry(site, "deadline", wave, stamp)
    event.add("dtstart", _unmistakable(deadline))
    event.add("dtend", _unmistakable(deadline))
    event.add("summary", f"Rollback deadline of wave {wave.number}")
    event.add("description", f"Until now the old machines of {', '.join(wave.moves)} stay intact and off.")
    return event
