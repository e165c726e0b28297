"""Maintenance windows on real dates, through changes of the clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.domain.rules import Recurring, Windows
from planner.moves.grid.windows import build_windows

VIENNA = Windows("Europe/Vienna", (Recurring(6, time(1), 4.0),), (), date(2027, 3, 22))


def test_a_window_over_the_spring_leap_keeps_its_hours() -> None:
    """28 March 2027: from 01:00 four hours pass until the clock shows 06:00."""
    (leap,) = build_windows(VIENNA, 1)
    assert leap.start.isoformat() == "2027-03-28T01:00:00+01:00"
    assert leap.end.isoformat() == "2027-03-28T06:00:00+02:00"
    assert leap.hours == 4.0


def test_a_window_over_the_autumn_leap_keeps_its_hours() -> None:
    """31 October 2027: from 01:00 four hours pass until the clock shows 04:00."""
    (leap,) = build_windows(VIENNA, 1, date(2027, 10, 31))
    assert leap.end.isoformat() == "2027-10-31T04:00:00+01:00"


def test_a_start_that_the_clock_leaps_over_is_the_moment_after_the_leap() -> None:
    """02:30 does not exist on 28 March 2027 in Vienna: it is 03:30 summer time."""
    rules = Windows("Europe/Vienna", (Recurring(6, time(2, 30), 1.0),), (), date(2027, 3, 28))
    (leap,) = build_windows(rules, 1)
    assert leap.start.isoformat() == "2027-03-28T03:30:00+02:00"


def test_the_habit_is_saturday_morning_and_wednesday_evening() -> None:
    """Without windows of the site's own: Saturday 08:00 for 6 h, Wednesday 19:00 for 3 h."""
    found = build_windows(Windows("Europe/Vienna"), 2, date(2027, 3, 1))
    assert [(item.start.strftime("%a %H:%M"), item.hours) for item in found] == [
        ("Wed 19:00", 3.0),
        ("Sat 08:00", 6.0),
    ]


def test_days_left_out_have_no_window() -> None:
    """A blackout day is skipped, the next week's window is not."""
    rules = Windows("UTC", (Recurring(5, time(8), 6.0),), (date(2027, 3, 6),), date(2027, 3, 1))
    assert [item.start.date() for item in build_windows(rules, 2)] == [date(2027, 3, 13), date(2027, 3, 20)]


def test_an_unknown_time_zone_is_the_persons_to_repair() -> None:
    """The message names what was written and what to write."""
    with pytest.raises(ValueError, match=r"Mars/Base.*Europe/Vienna"):
        build_windows(Windows("Mars/Base", start_date=date(2027, 3, 1)), 1)


@given(st.dates(date(2020, 1, 1), date(2060, 1, 1)), st.sampled_from(["UTC", "Europe/Vienna", "Asia/Tokyo"]))
def test_windows_rise_and_never_overlap(first: date, zone: str) -> None:
    """Each habit window ends before the next one starts, none before the first day."""
    found = build_windows(Windows(zone), 12, first)
    assert len(found) == 12
    assert found[0].start.date() >= first
    moments = [moment.astimezone(UTC) for item in found for moment in (item.start, item.end)]
    assert moments == sorted(moments)
    assert all(isinstance(item.start, datetime) for item in found)


def test_windows_that_the_clock_lets_overlap_follow_each_other() -> None:
    """28 March 2027: Saturday 22:00 and eight hours end at 07:00 summer time, not at 06:00: 06:00 waits."""
    weekly = (Recurring(5, time(22), 8.0), Recurring(6, time(6), 4.0))
    one, two = build_windows(Windows("Europe/Vienna", weekly), 2, date(2027, 3, 27))
    assert one.end.isoformat() == two.start.isoformat() == "2027-03-28T07:00:00+02:00"
    assert two.hours == 3.0
    assert one.cut == ""
    assert two.cut == "begins at 07:00, when the window before is over"


def test_a_start_that_the_clock_leaps_over_may_come_after_a_later_one() -> None:
    """28 March 2027: 02:30 is 03:30 summer time, half an hour after 03:00: it is what is left of it."""
    weekly = (Recurring(6, time(2, 30), 0.5), Recurring(6, time(3), 0.75))
    one, two = build_windows(Windows("Europe/Vienna", weekly), 2, date(2027, 3, 28))
    assert (one.start.isoformat(), one.hours) == ("2027-03-28T03:00:00+02:00", 0.75)
    assert (two.start.isoformat(), two.hours) == ("2027-03-28T03:45:00+02:00", 0.25)


def test_a_window_ends_where_a_day_left_out_begins() -> None:
    """Friday 20:00 and ten hours run into Saturday, which is left out: four hours until midnight."""
    rules = Windows("UTC", (Recurring(4, time(20), 10.0),), (date(2027, 3, 6),), date(2027, 3, 1))
    one, two = build_windows(rules, 2)
    assert (one.hours, one.cut) == (4.0, "ends before 2027-03-06, which is left out")
    assert (two.hours, two.cut) == (10.0, "")


def test_a_window_of_days_ends_at_the_first_day_left_out() -> None:
    """From Monday 12:00 for 72 h: Wednesday is left out, so 36 h are left."""
    rules = Windows("UTC", (Recurring(0, time(12), 72.0),), (date(2027, 3, 3), date(2027, 3, 4)))
    assert build_windows(rules, 1, date(2027, 3, 1))[0].hours == 36.0


WEEK = st.lists(
    st.builds(
        Recurring, st.integers(0, 6), st.times().map(lambda at: at.replace(tzinfo=None)), st.floats(0.1, 30)
    ),
    min_size=1,
    max_size=5,
)
LEAPS = (date(2027, 3, 24), date(2027, 10, 27), date(2027, 3, 10), date(2027, 11, 3))


@given(
    WEEK, st.sampled_from(LEAPS), st.sampled_from(["Europe/Vienna", "America/New_York", "Atlantic/Azores"])
)
def test_any_windows_follow_each_other_and_touch_no_day_left_out(
    weekly: list[Recurring], first: date, zone: str
) -> None:
    """Whatever overlaps by the week or by the clock: in absolute time each ends before the next begins."""
    left_out = (first + timedelta(days=2), first + timedelta(days=5))
    found = build_windows(Windows(zone, tuple(weekly), left_out), 12, first)
    moments = [moment.astimezone(UTC) for item in found for moment in (item.start, item.end)]
    assert moments == sorted(moments)
    assert all(item.hours > 0.0 for item in found)
    for item in found:
        last = (item.end.astimezone(UTC) - timedelta(microseconds=1)).astimezone(item.end.tzinfo)
        assert not any(item.start.date() <= day <= last.date() for day in left_out)
