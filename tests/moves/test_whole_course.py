"""Random sites through the whole course: arranged, judged from the file, half done, arranged again."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from datetime import UTC, date, datetime, time

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.moves.documents.icalendar_file import calendar
from planner.moves.documents.runbook import runbook
from planner.moves.scheduling.request import Options
from planner.moves.tasks.progress import Mark
from planner.moves.tasks.readings import Reading
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse, next_day
from planner.report.common.json_data import document_data
from planner.report.moves.build import course_page
from planner.report.moves.page import MovesDocument
from planner.report.moves.reader import read_order
from planner.verify import Breach, verify_order
from tests.kit.sites import medium_site, random_site
from tests.moves.targets import easy_target

STAMP = datetime(2027, 1, 1, tzinfo=UTC)
CALM = (HealthCheck.filter_too_much, HealthCheck.too_slow)
WEEKS = (
    (),
    (Recurring(5, time(8), 12.0), Recurring(2, time(19), 5.0)),
    tuple(Recurring(day, time(1, 30), 8.0) for day in range(7)),
)


def a_site(seed: int) -> Site:
    """Make a random site with windows, a crew, money by month, and services that bear little."""
    rng = random.Random(seed)
    site = medium_site(seed, 9) if seed % 3 == 0 else random_site(seed, boxes=4, services=6)
    services = tuple(
        replace(s, downtime_min=rng.choice([None, None, 60.0]), method_said=rng.random() < 0.2)
        for s in site.services
    )
    crew, monthly = rng.choice([1, 1, 2]), rng.choice([None, 2500.0])
    windows = Windows("Europe/Vienna", rng.choice(WEEKS), (date(2027, 3, 13),), None, crew)
    policy = replace(site.policy, monthly_budget=monthly)
    return replace(site, services=services, windows=windows, policy=policy)


def judged_from_json(course: OrderInUse, found: ArrangedOrder) -> tuple[Breach, ...]:
    """Judge an order as a file has it."""
    data = json.loads(
        json.dumps(document_data(MovesDocument(page=course_page(course, "proven", found))), allow_nan=False)
    )
    return verify_order(course.site, course.state, read_order(course.site, data))


@pytest.mark.slow
@settings(max_examples=12, deadline=None, suppress_health_check=CALM)
@given(st.integers(0, 100_000), st.sampled_from([None, date(2027, 3, 1), date(2027, 10, 20)]))
def test_a_course_holds_from_its_first_wave_to_its_last(seed: int, start: date | None) -> None:
    """Through both leaps of the clock; what is left after some waves is judged with them."""
    site = a_site(seed)
    state = easy_target(site, seed)
    assume(state is not None)
    assert state is not None
    course = OrderInUse(site, state)
    found = arrange(course, Options(start, time_s=2.0))
    if not found.is_possible:
        assert found.said or found.conflicts
        return
    assert judged_from_json(course, found) == found.breaches == ()
    half = _half_done(course, found)
    kept = half.kept()
    assert kept is None or kept.breaches == ()
    later = next_day([entry.at for entry in half.progress.entries])
    rest = arrange(half, Options(later or start, time_s=2.0))
    assert rest.breaches == ()
    if rest.is_possible:
        assert judged_from_json(half, rest) == ()
        assert runbook(site, rest.order, half.compared(), half.state_now()).startswith("# Runbook: ")
        if any(wave.start is not None for wave in rest.order.waves):
            assert calendar(site, rest.order, STAMP).startswith(b"BEGIN:VCALENDAR")


def _half_done(course: OrderInUse, found: ArrangedOrder) -> OrderInUse:
    """Mark half of the waves as done, with a reading after the last of them."""
    progress = course.progress
    waves = found.order.waves
    for wave in waves[: len(waves) // 2]:
        progress = progress.marked(wave, Mark.DONE, wave.end or datetime(2027, 3, 1, tzinfo=UTC))
    if progress.entries:
        levels = tuple((item.name, 50.0) for item in course.site.listeners)
        last = progress.entries[-1]
        progress = progress.with_reading(Reading(last.wave, last.tasks, last.at, levels, 500.0, 25.0))
    return replace(course, progress=progress.booked(waves))
