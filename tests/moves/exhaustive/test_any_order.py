"""'No order exists' is said where none does, and nowhere else: set against every order of small works."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from time import monotonic

import pytest

from planner.domain.order import Sort
from planner.domain.plan import Outcome
from planner.domain.rules import Recurring, Windows
from planner.domain.state import state_today
from planner.ledger import draw
from planner.moves.exhaustive.any_order import AnyOrder
from planner.moves.exhaustive.fallback import Fallback
from planner.moves.scheduling.request import Options
from planner.moves.tasks.work_packages import Work
from planner.moves.tracking import arranging
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import OrderInUse
from planner.verify import verify_state
from tests.kit.sites import plain_site
from tests.moves.every_order import EveryOrder, compared
from tests.moves.kit import onto_host, service, site_with
from tests.moves.tiny_works import tiny_work

COUNT, WHOLE = 150, 8
START = date(2027, 3, 1)


@pytest.mark.slow
def test_an_order_is_found_or_proven_not_to_exist_as_trying_every_one_says() -> None:
    told, differ = compared(0, COUNT)
    assert differ == []
    assert min(told["with an order"], told["without"]) >= COUNT // 10


def _works(count: int) -> list[Work]:
    found, seed = list[Work](), 50_000
    while len(found) < count:
        work = tiny_work(seed)
        found += [work] if work is not None else []
        seed += 1
    return found


@pytest.mark.slow
@pytest.mark.parametrize("start", [None, START])
def test_what_is_arranged_is_judged_good_or_proven_impossible(start: date | None) -> None:
    """Without dates as every order tried says; with dates some work may be longer than any window."""
    for work in _works(WHOLE):
        found = arrange(OrderInUse(work.change.site, work.change.target), Options(start, time_s=2.0))
        exists = EveryOrder(work).search() is not None
        longest_h = max(block.hours for block in work.blocks)
        assert found.breaches == ()
        if start is None or longest_h <= 3.0:
            assert found.is_possible == exists
        assert found.is_possible or found.said or found.conflicts
        assert exists or found.outcome is Outcome.INFEASIBLE


def _without_the_cooler() -> OrderInUse:
    """Build a course that ends on one host without the split unit: the walls give the heat away."""
    site = plain_site()
    site = replace(site, room=replace(site.room, ua_w_k=400.0))
    state = replace(onto_host(site), cooling={"summer": frozenset[str](), "winter": frozenset[str]()})
    assert verify_state(site, state) == ()
    return OrderInUse(site, state)


@pytest.mark.slow
def test_good_practice_gives_way_where_no_order_keeps_it() -> None:
    """The circuit bears the host beside both boxes only once the cooler is off; the links say: not before.

    They give way together, so that of each alone no more is said than that not all of them were kept.
    """
    course = _without_the_cooler()
    site = course.site
    circuit = site.supply.circuits[0]
    today_w = draw.circuit_loads_w(site, state_today(site))[circuit.name]
    host = next(machine for machine in course.state.machines if machine.kind is not None)
    host_w = draw.machine_peak_w(site, host, ())
    cooler_w = draw.cooling_w(site, site.cooling[0], frozenset())
    assert 0.0 < host_w < cooler_w
    tight = replace(circuit, continuous_w=today_w, breaker_a=2.0 * today_w / circuit.volts)
    site = replace(site, supply=replace(site.supply, circuits=(tight, *site.supply.circuits[1:])))
    for start in (None, START):
        found = arrange(OrderInUse(site, course.state), Options(start, time_s=5.0))
        assert found.is_good
        tasks = [task.id for wave in found.order.waves for task in wave.tasks]
        assert tasks.index("cooling off: split-unit") < tasks.index("bring in: host-1")
        told = [note for note in found.order.notes if note.startswith("Against good practice")]
        assert told
        assert all(note.endswith("no order was found that keeps all good practice.") for note in told)


def test_good_practice_is_kept_where_an_order_keeps_it() -> None:
    course = _without_the_cooler()
    found = arrange(course, Options(time_s=5.0))
    tasks = [task.id for wave in found.order.waves for task in wave.tasks]
    assert tasks.index("cooling off: split-unit") > tasks.index("bring in: host-1")
    assert not any("Against good practice" in note for note in found.order.notes)


@pytest.mark.slow
def test_a_search_that_was_cut_off_proves_nothing() -> None:
    work = next(work for work in _works(40) if EveryOrder(work).search() is None)
    assert AnyOrder(work).search().is_proof
    assert not AnyOrder(work, until=monotonic() - 1.0).search().is_proof


@pytest.mark.slow
def test_no_order_found_in_time_is_not_called_impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two boxes of 2 U and two switches of 1 U fill the rack of 6 U, so that a host of 1 U never comes in."""
    site = plain_site()
    kinds = tuple(replace(kind, spec=replace(kind.spec, rack_u=1)) for kind in site.kinds)
    site = replace(site, kinds=kinds, room=replace(site.room, rack_u=6))
    course = OrderInUse(site, onto_host(site))
    assert arrange(course, Options(time_s=60.0)).outcome is Outcome.INFEASIBLE
    monkeypatch.setattr(arranging, "search_any_order", lambda *_: Fallback(None))
    found = arrange(course, Options(time_s=2.0))
    assert found.outcome is Outcome.STOPPED_EMPTY
    assert "that there is none is not proven" in found.said[0]


@pytest.mark.slow
def test_a_backup_is_made_a_window_before_where_both_are_too_long_for_one() -> None:
    """Converting 1 TB at 112 MB/s takes 0.5 h and 2.48 h, tests 0.5 h, the way back 0.25 h: 3.73 h.

    With the backup of 0.5 h that is longer than the window of 4 h, without it is not; a week less the
    window's length lies between a Saturday's end and the next one's start.
    """
    site = site_with(
        service("files", demand=replace(site_with(service("x")).services[0].demand, disk_gb=(1000.0,)))
    )
    site = replace(site, windows=Windows("UTC", (Recurring(5, time(8), 4.0),)))
    found = arrange(OrderInUse(site, onto_host(site)), Options(START, time_s=3.0))
    assert found.is_good
    days = {
        task.id: wave.start for wave in found.order.waves for task in wave.tasks if wave.start is not None
    }
    assert (days["move: files"] - days["back up: files"]).days == 7


@pytest.mark.slow
def test_a_box_is_not_rebuilt_and_left_without_its_service() -> None:
    """Rebuilding birch as a host and setting its service up again is one step of every order found."""
    rebuilt = 0
    for work in _works(60):
        found = AnyOrder(work).search()
        for step in found.steps or ():
            for task in step:
                if task.sort is Sort.REUSE:
                    rebuilt += 1
                    under = {n for n in work.change.residents[task.subject] if n in work.change.in_place}
                    assert under <= {other.subject for other in step if other.sort is Sort.MOVE}
    assert rebuilt > 3


def test_days_left_out_for_two_years_are_told() -> None:
    """With every Saturday of two years left out there is no window, with all but the first only one."""
    saturdays = tuple(date(2027, 3, 6) + timedelta(weeks=week) for week in range(110))
    site = plain_site()
    for left_out in (saturdays, saturdays[1:]):
        calendar = Windows("UTC", (Recurring(5, time(8), 8.0),), left_out)
        found = arrange(
            OrderInUse(replace(site, windows=calendar), onto_host(site)), Options(START, time_s=2.0)
        )
        assert found.outcome is Outcome.STOPPED_EMPTY
        assert found.said or found.conflicts
    assert "do not fit the only window until 2027-03-06" in found.said[0]
