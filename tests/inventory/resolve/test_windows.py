"""The section `windows`: what it becomes, what is taken where it is silent, and its mistakes."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path

import jsonschema
import pytest

from planner.domain import practice
from planner.domain.rules import Recurring, Windows
from planner.inventory import schema
from planner.inventory.models.windows import WEEKDAYS
from planner.inventory.resolve.windows import HABIT
from planner.inventory.text.yaml_tree import parse
from tests.inventory.base import SMALL, load_text, problems_of

FULL = SMALL + (
    "windows:\n"
    "  timezone: Europe/Vienna\n"
    "  weekly:\n"
    "    - {day: saturday, from: 08:00, hours: 6}\n"
    '    - {day: wednesday, from: "19:30", hours: 150 min}\n'
    "  blackouts: [2027-03-27, 2027-12-24]\n"
    "  start_date: 2027-03-01\n"
    "  crew: 2\n"
)


def test_every_key_becomes_what_it_says(tmp_path: Path) -> None:
    """Days count from Monday, times are local, hours may be minutes; an editor takes it too."""
    loaded = load_text(tmp_path, FULL)
    assert loaded.site.windows == Windows(
        timezone="Europe/Vienna",
        recurring=(Recurring(5, time(8), 6.0), Recurring(2, time(19, 30), 2.5)),
        blackouts=(date(2027, 3, 27), date(2027, 12, 24)),
        start_date=date(2027, 3, 1),
        crew=2,
    )
    assert not [item for item in loaded.defaults if item.path.startswith("windows")]
    jsonschema.Draft202012Validator(schema()).validate(parse(FULL, "site.yaml").data)


def test_what_is_left_out_is_taken_and_said(tmp_path: Path) -> None:
    """Without the section the trade's habit stands, in UTC, for one person; no first day is invented."""
    loaded = load_text(tmp_path, SMALL)
    assert loaded.site.windows == Windows()
    told = {item.path: item.value for item in loaded.defaults}
    assert (told["windows.timezone"], told["windows.crew"]) == ("UTC", "1")
    assert told["windows.weekly"] == HABIT


def test_the_habit_in_words_is_the_one_that_is_used() -> None:
    """The sentence of `check` and the windows of `moves` cannot drift apart."""
    words = [
        f"{WEEKDAYS[item.weekday]} {item.start:%H:%M} for {item.hours:g} h" for item in practice.WINDOW_HABIT
    ]
    assert ", ".join(words) == HABIT


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "Europe/Vienna",
            "Europe/Viena",
            "windows.timezone: Europe/Viena is no time zone. Did you mean 'Eur",
        ),
        ("Europe/Vienna", "europe/vienna", "windows.timezone: europe/vienna? write 'Europe/Vienna'"),
        ("Europe/Vienna", "../etc/passwd", "is no time zone. Write a place of the time zone list"),
        (
            "saturday",
            "satuday",
            "site.yaml:18: windows.weekly[0].day: satuday is no day of the week. Did you",
        ),
        ("from: 08:00", "from: 8", "windows.weekly[0].from: 8 is no time of day. Write one such as 08:00"),
        ("from: 08:00", "from: 24:00", "24:00 is no time of day."),
        ("hours: 6", "hours: 0", "windows.weekly[0].hours: 0 is too small. It must be more than 0 h."),
        ("hours: 6", "hours: 73", "hours: 73 is too large."),
        ("hours: 6", "houres: 6", "windows.weekly[0].houres: this key is not known. Did you mean 'hours'?"),
        ("2027-03-27", "27.3.2027", "windows.blackouts[0]: 27.3.2027 is no date. Write year-month-day"),
        ("2027-03-01", "2027-02-29", "windows.start_date: 2027-02-29 is no date."),
        ("crew: 2", "crew: 0", "windows.crew: a crew of 0? write 1 to 20 people"),
        ("crew: 2", "crew: 1.5", "windows.crew: 1.5 is no whole number."),
        ("wednesday", "saturday", None),
        (
            "{day: saturday, from: 08:00, hours: 6}",
            "{day: monday, from: 22:00, hours: 48}",
            "weekly[1]: it beg",
        ),
    ],
)
def test_a_mistake_is_told_with_its_place_and_repair(
    tmp_path: Path, old: str, new: str, told: str | None
) -> None:
    """One change makes one mistake, and one sentence tells it; two windows on a day are none."""
    assert FULL.count(old) == 1
    text = FULL.replace(old, new)
    if told is None:
        assert len(load_text(tmp_path, text).site.windows.recurring) == 2
        return
    problems = problems_of(tmp_path, text)
    assert told in str(problems[0])
    assert len(problems) == 1


def test_a_window_over_the_end_of_the_week_may_not_run_into_the_first(tmp_path: Path) -> None:
    """Sunday night for ten hours ends after Monday 06:00 has begun; for eight it does not."""
    weekly = (
        "windows: {weekly: [{day: monday, from: 06:00, hours: 2}, {day: sunday, from: 22:00, hours: H}]}\n"
    )
    problems = problems_of(tmp_path, SMALL + weekly.replace("H", "10"))
    assert "windows.weekly[0]: it begins before the one of sunday is over." in str(problems[0])
    assert load_text(tmp_path, SMALL + weekly.replace("H", "8")).site.windows.recurring
