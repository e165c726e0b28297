"""The runbook and the calendar of an order."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache

import pytest
import vobject

from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.moves import Order, Wave, order
from planner.moves.documents.icalendar_file import calendar
from planner.moves.documents.runbook import runbook
from planner.moves.grid.windows import build_windows
from planner.moves.scheduling.schedule import Schedule, schedule
from tests.kit.sites import plain_site
from tests.moves.kit import onto_host

SPRING = Windows(
    "Europe/Vienna", (Recurring(6, time(1), 8.0), Recurring(2, time(19), 4.0)), (), date(2027, 3, 15)
)
STAMP = datetime(2027, 3, 1, 12, 0, tzinfo=UTC)


def a_site() -> Site:
    """Make the plain site with windows around the spring leap of the clock."""
    return replace(plain_site(), windows=SPRING)


@cache
def a_schedule() -> Schedule:
    """Make its schedule."""
    return schedule(a_site(), onto_host(a_site()))


def unfolded(data: bytes) -> list[str]:
    """List a calendar's content lines by RFC 5545, 3.1: a line that starts with a blank goes on the last."""
    text = data.decode("utf-8")
    assert text.endswith("\r\n")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    return text.replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")[:-1]


def events(data: bytes) -> list[dict[str, str]]:
    """List a calendar's entries by a reader of our own: name with parameters to value, alarms left out."""
    found: list[dict[str, str]] = []
    inside: list[str] = []
    for line in unfolded(data):
        name, value = line.split(":", 1) if '"' not in line else re.split(r":(?=[^\"]*$)", line, maxsplit=1)
        if name == "BEGIN":
            inside.append(value)
            found += [{}] if value == "VEVENT" else []
        elif name == "END":
            assert inside.pop() == value
        elif inside[-1] == "VEVENT":
            found[-1][name] = value
    assert not inside
    return found


def moment(entry: dict[str, str], key: str) -> datetime:
    """Make a date of an entry in UTC, by its TZID and the offsets of Vienna in spring 2027."""
    name = next(name for name in entry if name.split(";")[0] == key)
    if entry[name].endswith("Z"):
        return datetime.strptime(entry[name], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
    assert name == f"{key};TZID=Europe/Vienna"
    local = datetime.strptime(entry[name], "%Y%m%dT%H%M%S")
    offset = 2 if local >= datetime(2027, 3, 28, 2) else 1
    return (local - timedelta(hours=offset)).replace(tzinfo=UTC)


@pytest.mark.slow
def test_the_calendar_has_every_wave_at_its_moment() -> None:
    """Read back by hand, each wave starts and ends when it should, through the leap of the clock."""
    found = a_schedule().order
    entries = events(calendar(a_site(), found, STAMP))
    waves = [entry for entry in entries if entry["SUMMARY"].startswith("Wave")]
    assert len(waves) == len(found.waves)
    leaps = set()
    for wave, entry in zip(found.waves, waves, strict=True):
        assert wave.start is not None
        assert wave.end is not None
        assert moment(entry, "DTSTART") == wave.start.astimezone(UTC)
        assert moment(entry, "DTEND") == wave.end.astimezone(UTC)
        leaps.add(wave.start.utcoffset())
    assert len(leaps) == 2


def test_the_calendar_has_a_time_zone_and_names_of_its_own() -> None:
    """Entries have unlike names, the same each time; the zone is described with both of its offsets."""
    data = calendar(a_site(), a_schedule().order, STAMP)
    names = [entry["UID"] for entry in events(data)]
    assert len(set(names)) == len(names)
    assert data == calendar(a_site(), a_schedule().order, STAMP)
    text = data.decode()
    assert "BEGIN:VTIMEZONE" in text
    assert "TZOFFSETTO:+0200" in text
    assert "TZOFFSETTO:+0100" in text


@pytest.mark.slow
def test_a_calendar_in_utc_describes_no_zone() -> None:
    """There is nothing to describe."""
    site = replace(a_site(), windows=replace(SPRING, timezone="UTC"))
    text = calendar(site, schedule(site, onto_host(site)).order, STAMP).decode()
    assert "VTIMEZONE" not in text
    assert "DTSTART:20270321T010000Z" in text


def test_rollback_deadlines_are_in_the_calendar() -> None:
    """Seven days after each wave that moves something its deadline is an entry."""
    found = a_schedule().order
    entries = events(calendar(a_site(), found, STAMP))
    deadlines = [moment(entry, "DTSTART") for entry in entries if entry["SUMMARY"].startswith("Rollback")]
    wanted = [
        wave.rollback_deadline.astimezone(UTC)
        for wave in found.waves
        if wave.rollback_deadline and wave.moves
    ]
    assert deadlines == wanted
    assert wanted


LEAPS = {
    "spring, before": (date(2027, 3, 22), time(22), 8.0),
    "spring, in the hour that is left out": (date(2027, 3, 22), time(2, 30), 6.0),
    "autumn, an end in the hour that comes twice": (date(2027, 10, 25), time(1), 2.0),
    "autumn, a start in the hour that comes twice": (date(2027, 10, 25), time(2, 30), 6.0),
    "autumn, over it": (date(2027, 10, 25), time(0), 6.0),
}
"""First days, starts and lengths of windows round the days on which the clock of Vienna leaps in 2027."""


@pytest.mark.parametrize("leap", LEAPS)
def test_an_outside_reader_finds_each_wave_at_its_moment(leap: str) -> None:
    """Read with another library, starts, ends and deadlines are the moments they are, in their length."""
    first, start, hours = LEAPS[leap]
    daily = tuple(Recurring(day, start, hours) for day in (5, 6))
    site = replace(plain_site(), windows=Windows("Europe/Vienna", daily, (), first))
    days = build_windows(site.windows, 4)
    waves = [_wave_on(day.start, day.end, number) for number, day in enumerate(days, start=1)]
    text = calendar(site, Order(tuple(waves), (), ()), STAMP).decode()
    events = list(vobject.readOne(text).vevent_list)
    found = [event for event in events if event.summary.value.startswith("Wave")]
    for wave, event in zip(waves, found, strict=True):
        assert wave.start is not None
        assert wave.end is not None
        begun, over = event.dtstart.value.astimezone(UTC), event.dtend.value.astimezone(UTC)
        assert begun == wave.start.astimezone(UTC)
        assert over == wave.end.astimezone(UTC)
        assert over - begun == timedelta(hours=hours)
    deadlines = [event.dtstart.value for event in events if event.summary.value.startswith("Rollback")]
    wanted = [wave.rollback_deadline for wave in waves if wave.rollback_deadline is not None]
    assert [at.astimezone(UTC) for at in deadlines] == [at.astimezone(UTC) for at in wanted]


def _wave_on(start: datetime, end: datetime, number: int) -> Wave:
    """Make a wave of the plain site's order on a date."""
    one = next(wave for wave in a_schedule().order.waves if wave.moves)
    return replace(one, number=number, start=start, end=end)


def test_a_calendar_entry_says_when_to_turn_back() -> None:
    """The way back of two services, 0.5 h, before the end at 10:00 summer time."""
    entries = events(calendar(a_site(), a_schedule().order, STAMP))
    assert any("Turn back at 09:30 at the latest." in entry.get("DESCRIPTION", "") for entry in entries)


def test_an_order_without_dates_has_no_calendar() -> None:
    """Undated waves are refused."""
    site = a_site()
    with pytest.raises(ValueError, match="no dates"):
        calendar(site, order(site, onto_host(site)), STAMP)


def test_nothing_names_a_product_or_asks_for_the_clock() -> None:
    """The same order gives the same papers, whenever they are made."""
    assert runbook(a_site(), a_schedule().order) == runbook(a_site(), a_schedule().order)
