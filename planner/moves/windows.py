"""Maintenance windows on real dates: weekly ones in the site's time zone, without the days left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import islice
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from planner.facts import WINDOW_HABIT
from planner.site import Recurring, Windows

MOST_DAYS = 731


@dataclass(frozen=True)
class Window:
    """One maintenance window, both ends in the site's time zone."""

    start: datetime
    end: datetime

    @property
    def hours(self) -> float:
        """Its length in hours that pass, whatever the clock on the wall does meanwhile."""
        return (self.end - self.start.astimezone(UTC)).total_seconds() / 3600.0


def zone_of(rules: Windows) -> ZoneInfo:
    """Give the time zone; ValueError for one that does not exist."""
    try:
        return ZoneInfo(rules.timezone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        message = f"time zone {rules.timezone!r} is not known; write one such as 'Europe/Vienna'"
        raise ValueError(message) from error


def windows(rules: Windows, count: int, start: date | None = None) -> tuple[Window, ...]:
    """Give up to ``count`` windows from a day on, at most two years ahead.

    Raises ValueError when neither the site nor the caller gives a first day, or the time zone is not known.
    """
    first = start or rules.start_date
    if first is None:
        raise ValueError("no first day: write 'start_date' under 'windows', such as 2027-03-01")
    return tuple(islice(_windows(rules, first), count))


def _windows(rules: Windows, first: date) -> Iterator[Window]:
    zone = zone_of(rules)
    weekly = sorted(rules.recurring or WINDOW_HABIT, key=lambda item: (item.weekday, item.start))
    blocked = frozenset(rules.blackouts)
    for day in (first + timedelta(days=number) for number in range(MOST_DAYS)):
        if day in blocked:
            continue
        for item in weekly:
            if item.weekday == day.weekday() and item.hours > 0.0:
                yield _on(day, item, zone)


def _on(day: date, item: Recurring, zone: ZoneInfo) -> Window:
    """Give a window on a day; a start that the clock leaps over is the moment of the leap plus the rest."""
    local = datetime.combine(day, item.start, tzinfo=zone)
    start = local.astimezone(UTC)
    end = start + timedelta(hours=item.hours)
    return Window(start.astimezone(zone), end.astimezone(zone))
