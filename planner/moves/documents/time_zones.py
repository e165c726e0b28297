"""A time zone as a calendar file describes it (RFC 5545, 3.6.5): each leap of the clock by itself.

Why so: a calendar describes its time zone leap by leap, and a time that the clock shows twice is written in
UTC: the lists of dates that the library writes stand an hour late, and an outside reader did not follow
them.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

NONE = timedelta(0)
SECOND = timedelta(seconds=1)


def described(zone: ZoneInfo, first: datetime, last: datetime) -> Timezone:
    """Describe a time zone from the year before a moment to the year after another.

    Every leap is an observance with its own onset, in the local time that ends there, without rules of
    recurrence: readers differ in how they understand those.
    """
    found = Timezone()
    found.add("tzid", zone.key)
    start = datetime(first.year - 1, 1, 1, tzinfo=UTC)
    found.add_component(_observance(zone, start, _offset(zone, start)))
    for leap in _leaps(zone, start, datetime(last.year + 2, 1, 1, tzinfo=UTC)):
        found.add_component(_observance(zone, leap, _offset(zone, leap - SECOND)))
    return found


def _observance(zone: ZoneInfo, onset: datetime, before: timedelta) -> TimezoneStandard | TimezoneDaylight:
    local = onset.astimezone(zone)
    is_summer = (local.dst() or NONE) != NONE
    found = TimezoneDaylight() if is_summer else TimezoneStandard()
    found.add("dtstart", (onset + before).replace(tzinfo=None))
    found.add("tzoffsetfrom", before)
    found.add("tzoffsetto", _offset(zone, onset))
    found.add("tzname", local.tzname() or zone.key)
    return found


def _offset(zone: ZoneInfo, moment: datetime) -> timedelta:
    return moment.astimezone(zone).utcoffset() or NONE


def _leaps(zone: ZoneInfo, start: datetime, end: datetime) -> Iterator[datetime]:
    """Find the moments at which the offset changes, to the second."""
    day = start
    while day < end:
        low, high = day, day + timedelta(days=1)
        if _offset(zone, low) != _offset(zone, high):
            while high - low > SECOND:
                middle = low + timedelta(seconds=(high - low) // SECOND // 2)
                low, high = (low, middle) if _offset(zone, middle) != _offset(zone, low) else (middle, high)
            yield high
        day += timedelta(days=1)
