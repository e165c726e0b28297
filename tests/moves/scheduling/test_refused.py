"""What is refused without a search is refused by the judge in any order; what ends a search is said truly."""

from __future__ import annotations

import random
import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from planner.domain.conflict import Rule
from planner.domain.machines import Role
from planner.domain.order import Sort, Task, WrittenOrder, WrittenWave, task_id
from planner.domain.plan import Outcome
from planner.domain.practice import COPY_SHARE
from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.moves.exhaustive import any_order
from planner.moves.exhaustive.any_order import AnyOrder
from planner.moves.grid.monthly_budget import find_too_dear
from planner.moves.scheduling.request import Options
from planner.moves.scheduling.schedule import Schedule, solve_explanation
from planner.moves.tasks.downtime import downtime_notes
from planner.moves.tasks.progress import Progress
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.wave import Order
from planner.moves.tasks.work_packages import Work, work_of
from planner.moves.tracking import arranging
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse
from planner.report.common.text import Line
from planner.report.moves.build import course_page
from planner.report.moves.text import moves_lines
from planner.verify import after_wave, simulate_today, verify_order
from planner.verify.moves.room import Walked
from tests.kit.sites import plain_site
from tests.moves.kit import onto_host, service, site_with, small
from tests.moves.tiny_works import tiny_work

START = date(2027, 3, 1)
COUNT = 400
SATURDAY = datetime(2027, 3, 6, 8, tzinfo=UTC)


def _tiny_works() -> Iterator[tuple[random.Random, Work]]:
    """List works and luck to change them by."""
    for seed in range(70_000, 70_000 + COUNT):
        work = tiny_work(seed)
        if work is not None:
            yield random.Random(seed), work


def _refused(work: Work, task: Task, rule: Walked) -> bool:
    """Ask the judge for a task done alone and first; nothing else in an order is asked for this rule."""
    wave = WrittenWave(1, (task,), SATURDAY, SATURDAY + timedelta(hours=200))
    change = work.change
    if rule is Walked.MONEY:
        found = verify_order(change.site, change.target, WrittenOrder((wave,)))
    else:
        picture = simulate_today(change.site, change.target, WrittenOrder((wave,)))
        found = after_wave(picture, wave, None)[1]
    return any(breach.rule == rule for breach in found)


def _in_every_way(work: Work, task: Task) -> Iterator[Task]:
    """Write a move with no time down at all, in each way that its inventory leaves open."""
    item = work.change.site.service[task.subject]
    methods = [task.method] if item.method_said else [*COPY_SHARE]
    for method in methods:
        yield replace(task, method=method, down_h=0.0)


@pytest.mark.slow
def test_what_is_down_too_long_is_what_the_judge_refuses_however_it_is_written() -> None:
    refused, passed, in_place = 0, 0, 0
    for rng, work in _tiny_works():
        site, target = work.change.site, work.change.target
        services = tuple(
            replace(
                item,
                downtime_min=rng.choice((10.0, 16.0, 30.0, 160.0, 300.0)),
                method_said=rng.random() < 0.7,
            )
            for item in site.services
        )
        limited = work_of(Change(replace(site, services=services), target))
        named = {text.split()[0] for text in downtime_notes(limited)}
        for name in limited.change.moved:
            task = limited.tasks[task_id(Sort.MOVE, name)]
            ways = [_refused(limited, way, Walked.DOWNTIME) for way in _in_every_way(limited, task)]
            assert (name in named) == all(ways)
            assert (name in named) == _refused(limited, task, Walked.DOWNTIME)
            refused, passed = refused + all(ways), passed + (not all(ways))
            in_place += name in limited.change.in_place
    assert min(refused, passed) > 20
    assert in_place > 3


def _in_place(limit_min: float, method: str) -> tuple[Site, State]:
    mail = service("mail", downtime_min=limit_min, method=method, demand=small(100.0))
    site = site_with(mail)
    hosts = (Machine("alder", Role.HOST, "circuit-a", ("mail",), box="alder"),)
    return site, State(hosts, cooling=state_today(site).cooling)


@pytest.mark.parametrize(
    ("method", "setup_min"), [("convert", 30.0), ("replicate", 15.0), ("rebuild", 120.0)]
)
def test_a_box_rebuilt_in_place_keeps_its_service_down_until_it_is_set_up_again(
    method: str, setup_min: float
) -> None:
    """Rebuilding 2 h, setting up, 100 GB back at 112 MB/s (14.9 min): a replica has no second machine."""
    down_min = 120.0 + setup_min + 100_000.0 / 112.0 / 60.0
    for limit_min, is_refused in ((down_min - 0.1, True), (down_min + 0.1, False)):
        site, target = _in_place(limit_min, method)
        work = work_of(Change(site, target))
        task = work.tasks["move: mail"]
        assert task.down_h == pytest.approx(down_min / 60.0)
        assert task.hours == pytest.approx(down_min / 60.0 - 2.0 + 0.5)
        assert bool([*downtime_notes(work)]) is is_refused
        assert _refused(work, replace(task, down_h=0.0), Walked.DOWNTIME) is is_refused


@pytest.mark.slow
def test_a_task_too_dear_is_what_the_judge_refuses_in_any_month() -> None:
    refused, passed = 0, 0
    for rng, work in _tiny_works():
        prices = sorted({task.price for task in work.tasks.values() if task.price})
        if not prices:
            continue
        site = work.change.site
        monthly = rng.choice(prices) - rng.choice((0.0, 1.0))
        site = replace(site, policy=replace(site.policy, monthly_budget=monthly))
        poor = work_of(Change(site, work.change.target))
        named = {item.subject for item in find_too_dear(poor, frozenset())}
        for task in poor.tasks.values():
            is_refused = _refused(poor, task, Walked.MONEY)
            assert ((task.id,) in named) == is_refused
            refused, passed = refused + is_refused, passed + (not is_refused)
        done = {id_ for ids in named for id_ in ids}
        assert not named & {item.subject for item in find_too_dear(poor, done)}
    assert min(refused, passed) > 10


def _files(disk_gb: float, calendar: Windows) -> tuple[Site, State]:
    """Make a file server to be moved onto a host that is installed in 2 h."""
    site = replace(site_with(service("files", demand=small(disk_gb))), windows=calendar)
    site = replace(site, kinds=tuple(replace(kind, hours=2.0) for kind in site.kinds))
    return site, onto_host(site)


@pytest.mark.slow
def test_windows_shortened_for_two_years_prove_nothing_about_the_years_after() -> None:
    """1.9 TB at 112 MB/s are 4.7 h, the whole move 6.0 h: not in the 4 h before a Sunday that is left out."""
    sundays = tuple(date(2027, 3, 7) + timedelta(weeks=week) for week in range(110))
    for item, left_out, outcome in (
        (Recurring(5, time(20), 8.0), sundays, Outcome.STOPPED_EMPTY),
        (Recurring(5, time(20), 4.0), (), Outcome.INFEASIBLE),
    ):
        site, target = _files(1900.0, Windows("UTC", (item,), left_out))
        found = arrange(OrderInUse(site, target), Options(START, time_s=20.0))
        assert found.outcome is outcome
        assert ("leave fewer days out" in " ".join(found.said)) == bool(left_out)


def test_what_does_without_its_backup_is_not_called_too_long() -> None:
    """1 TB: setting up 0.5 h, copying 2.48, checks 0.5, way back 0.25 are 3.73 h, with the backup 4.23 h."""
    for length_h, crew, is_named in ((4.0, 1, False), (3.5, 1, True), (4.0, 2, False), (3.5, 2, True)):
        calendar = Windows("UTC", (Recurring(5, time(8), length_h),), crew=crew)
        _, told = solve_explanation(*_files(1000.0, calendar), Options(START, time_s=2.0), Progress())
        named = [item for item in told if item.rule is Rule.WINDOW]
        assert bool(named) is is_named
        assert all(item.subject == ("move: files",) for item in named)
        assert all(item.work_h == pytest.approx(3.73, abs=0.005) for item in named)


def test_installing_that_takes_too_long_is_named_and_not_what_it_is_for() -> None:
    """Installing takes 9 h, bringing in 1 h, the window has 8 h."""
    site, target = _files(10.0, Windows("UTC", (Recurring(5, time(8), 8.0),)))
    site = replace(site, kinds=tuple(replace(kind, hours=9.0) for kind in site.kinds))
    _, told = solve_explanation(site, target, Options(START, time_s=2.0), Progress())
    assert [(item.rule, item.subject) for item in told] == [(Rule.WINDOW, ("prepare: host-1",))]


def _full_rack() -> OrderInUse:
    """Two boxes of 2 U and two switches of 1 U fill 6 U: a host of 1 U never comes in; the cooler goes."""
    site = plain_site()
    kinds = tuple(replace(kind, spec=replace(kind.spec, rack_u=1)) for kind in site.kinds)
    site = replace(site, kinds=kinds, room=replace(site.room, rack_u=6, ua_w_k=400.0))
    return OrderInUse(
        site, replace(onto_host(site), cooling={"summer": frozenset[str](), "winter": frozenset[str]()})
    )


def _text(course: OrderInUse, found: ArrangedOrder) -> str:
    lines: list[Line] = moves_lines(course_page(course, "proven", found))
    return " ".join("".join(piece.text for piece in line.pieces).strip() for line in lines)


def test_an_order_found_by_trying_says_that_it_was_not_made_better(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a scheduler that finds nothing the search finds an order, long before its time is used."""
    none = Schedule(Order((), (), ()), (), Outcome.STOPPED_EMPTY)
    monkeypatch.setattr(arranging, "schedule", lambda *_, **__: none)
    site, target = _files(10.0, Windows("UTC", (Recurring(5, time(8), 8.0),)))
    course = OrderInUse(site, target)
    found = arrange(course, Options(START, time_s=60.0))
    assert found.outcome is Outcome.STOPPED_WITH_PLAN
    assert found.is_good
    assert "schedule: stopped with a plan (not made better: it was found by trying step after step)" in _text(
        course, found
    )


@pytest.mark.slow
def test_an_interrupted_search_says_so() -> None:
    course, cancel = _full_rack(), threading.Event()
    cancel.set()
    found = arrange(course, Options(START, time_s=60.0), cancel)
    assert found.outcome is Outcome.STOPPED_EMPTY
    assert "no order was found (interrupted)" in _text(course, found)
    assert "--time" not in _text(course, found)


@pytest.mark.slow
def test_a_search_that_ends_without_trying_all_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no set of switches tried in one go, one that is left proves nothing; more time would not help."""
    monkeypatch.setattr(any_order, "MOST_SWITCHES", 0)
    course = _full_rack()
    reach = AnyOrder(course.all_work()).search()
    assert (reach.steps, reach.is_proof) == (None, False)
    found = arrange(course, Options(START, time_s=30.0))
    assert found.outcome is Outcome.STOPPED_EMPTY
    assert "no order was found (its search came to its end before the time was used)" in _text(course, found)
    assert "not every set of the 1 measures" in found.said[0]
