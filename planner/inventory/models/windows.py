"""When work may be done: weekly windows on the site's own clock, days left out, the first day."""

from __future__ import annotations

import re
from datetime import date, time
from functools import lru_cache
from typing import Annotated, Any
from zoneinfo import ZoneInfo, available_timezones

from pydantic import BeforeValidator, Field, WithJsonSchema

from planner.inventory.models.types import Section, one_of, quantity, text_form
from planner.inventory.text.errors import show
from planner.inventory.text.units import HOURS, Dimension, UnitError, parse_whole

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
DATE_EXAMPLE = "2027-03-01"
WINDOW_HOURS = Dimension("hours", "h", HOURS.factors, "6 h", bare=True, above_low=True, high=72.0)
MOST_CREW = 20


def parse_weekday(value: Any) -> int:
    """Read a day's name; Monday is 0."""
    return WEEKDAYS.index(one_of("day of the week", *WEEKDAYS)(value))


def parse_clock(value: Any) -> time:
    """Read a time of day such as ``08:00``; UnitError otherwise."""
    match = CLOCK.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        raise UnitError(f"{show(value)} is no time of day.", "Write one such as 08:00 or 19:30.")
    return time(int(match[1]), int(match[2]))


def parse_date(value: Any) -> date:
    """Read a date such as ``2027-03-01``; UnitError otherwise."""
    try:
        return date.fromisoformat(value if isinstance(value, str) and len(value) == 10 else "")
    except ValueError:
        raise UnitError(
            f"{show(value)} is no date.", f"Write year-month-day, such as {DATE_EXAMPLE}."
        ) from None


@lru_cache(maxsize=1)
def _timezones() -> frozenset[str]:
    """Look up all time zones of this system; it walks through hundreds of files."""
    return frozenset(available_timezones())


def parse_timezone(value: Any) -> str:
    """Read the name of a time zone; UnitError when there is none of that name."""
    names = _timezones()
    if isinstance(value, str) and value in names:
        return ZoneInfo(value).key
    # One spelling is asked for: 'europe/vienna' opens a file on some systems and none on others.
    alike = [name for name in names if name.lower() == str(value).lower()]
    if alike:
        raise UnitError(f"{show(value)}?", f"write '{alike[0]}'")
    hint = one_of("time zone", *sorted(name for name in names if "/" in name))
    try:
        return hint(value)
    except UnitError as error:
        if error.repair.startswith("Did you mean"):
            raise
        raise UnitError(
            error.message, "Write a place of the time zone list, such as Europe/Vienna."
        ) from None


def parse_crew(value: Any) -> int:
    """Read how many people work at once; UnitError unless there is somebody."""
    count = parse_whole(value)
    if not 1 <= count <= MOST_CREW:
        raise UnitError(f"a crew of {count}?", f"write 1 to {MOST_CREW} people")
    return count


Weekday = Annotated[
    int, BeforeValidator(parse_weekday), WithJsonSchema({"type": "string", "enum": list(WEEKDAYS)})
]
Clock = Annotated[time, BeforeValidator(parse_clock), text_form("time of day", "08:00")]
Date = Annotated[date, BeforeValidator(parse_date), WithJsonSchema({"type": "string", "format": "date"})]
Timezone = Annotated[str, BeforeValidator(parse_timezone), text_form("time zone", "Europe/Vienna")]
Crew = Annotated[int, BeforeValidator(parse_crew), WithJsonSchema({"type": "integer", "minimum": 1})]


class WeeklyModel(Section):
    """A maintenance window that comes every week."""

    weekday: Weekday = Field(alias="day", description="Day of the week on which it begins.")
    start: Clock = Field(alias="from", description="When it begins, by the clock on the wall.")
    hours: Annotated[float, *quantity(WINDOW_HOURS)] = Field(description="How long it is.")


class WindowsModel(Section):
    """When work may be done."""

    timezone: Timezone | None = Field(default=None, description="The site's time zone.")
    weekly: tuple[WeeklyModel, ...] = Field(default=(), description="Windows of every week.")
    blackouts: tuple[Date, ...] = Field(default=(), description="Days without any window.")
    start_date: Date | None = Field(default=None, description="First day on which work may be done.")
    crew: Crew | None = Field(default=None, description="How many people work at once.")
