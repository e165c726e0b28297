"""Maintenance windows on real dates: weekly ones in the site's time zone, without the days left out.

All is compared in absolute time: where the clock leaps, windows that lie apart on the wall may overlap.
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import islice
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from planner.domain.practice import WINDOW_HABIT
from planner.domain.rules import Recurring, Windows

MOST_DAYS = 731
MOST_WINDOWS = 208
"""Two years of two windows a week."""


@dataclass(frozen=True)
class Window:
    """One maintenance window, both ends in the site's time zone; ``cut`` says why it is shorter."""

    start: datetime
    end: datetime
    cut: str = ""

    @property
    def hours(self) -> float:
        """Its length in hours that pass, whatever the clock on the wall does meanwhile."""
        return (self.end - self.start.astimezone(UTC)).total_seconds() / 3600.0


def zone_of(rules: Windows) -> ZoneInfo:
    """Look up the time zone; ValueError for one that does not exist."""
    try:
        return ZoneInfo(rules.timezone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        message = f"time zone {rules.timezone!r} is not known; write one such as 'Europe/Vienna'"
        raise ValueError(message) from error


def build_windows(rules: Windows, count: int, start: date | None = None) -> tuple[Window, ...]:
    """Build up to ``count`` windows from a day on, at most two years ahead.

    Raises ValueError when neither the site nor the caller gives a first day, or the time zone is not known.
    """
    first = start or rules.start_date
    if first is None:
        raise ValueError("no first day: write 'start_date' under 'windows', such as 2027-03-01")
    return tuple(islice(_windows(rules, first), count))


def _windows(rules: Windows, first: date) -> Iterator[Window]:
    zone = zone_of(rules)
    blocked = frozenset(rules.blackouts)
    free_from = datetime.min.replace(tzinfo=UTC)
    for day in (first + timedelta(days=number) for number in range(MOST_DAYS)):
        if day in blocked:
            continue
        weekly = (item for item in rules.recurring or WINDOW_HABIT if item.weekday == day.weekday())
        today = (_on(day, item, zone) for item in weekly if item.hours > 0.0)
        for whole in sorted(today, key=lambda window: window.start.astimezone(UTC)):
            window = _before_blackout(_after(whole, free_from), blocked)
            if window.hours > 0.0:
                free_from = window.end.astimezone(UTC)
                yield window


def _on(day: date, item: Recurring, zone: ZoneInfo) -> Window:
    """Build a window on a day; a start that the clock leaps over is the moment of the leap plus the rest."""
    local = datetime.combine(day, item.start, tzinfo=zone)
    start = local.astimezone(UTC)
    end = start + timedelta(hours=item.hours)
    return Window(start.astimezone(zone), end.astimezone(zone))


def _after(window: Window, moment: datetime) -> Window:
    """Cut off what lies before a moment, the end of the window before."""
    if window.start.astimezone(UTC) >= moment:
        return window
    cut = f"begins at {moment.astimezone(window.start.tzinfo):%H:%M}, when the window before is over"
    return replace(window, start=moment.astimezone(window.start.tzinfo), cut=cut)


def _before_blackout(window: Window, blocked: Set[date]) -> Window:
    """Cut off what lies on the first day left out that a window runs into, and after it."""
    zone, day = window.start.tzinfo, window.start.date()
    if day in blocked:
        return replace(window, end=window.start)
    while day <= window.end.date():
        midnight = datetime.combine(day, time(0), tzinfo=zone).astimezone(UTC)
        if day in blocked and midnight < window.end.astimezone(UTC):
            return replace(window, end=midnight.astimezone(zone), cut=f"ends before {day}, which is left out")
        day += timedelta(days=1)
    return window
