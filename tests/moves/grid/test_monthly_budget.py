"""Money by month: held by the schedule, judged, counted over what is done, named where it is in the way."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time

import pytest

from planner.domain.plan import Outcome, outlay
from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.grid.monthly_budget import compute_spent_by_month
from planner.moves.scheduling.request import Options
from planner.moves.scheduling.schedule import Schedule, schedule
from planner.moves.tasks.progress import Mark, Progress
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.walk import walk, written
from planner.moves.tasks.work_packages import work_of
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import OrderInUse
from planner.report.moves.build import ways_out
from planner.verify import Walked, verify_order
from tests.kit.sites import plain_site
from tests.moves.kit import onto_host

WEEKLY = Windows("Europe/Vienna", (Recurring(5, time(8), 8.0),), (), date(2027, 3, 1))


def a_site(monthly: float | None) -> Site:
    """Make the plain site, Saturdays from March on, with money by month."""
    site = replace(plain_site(), windows=WEEKLY)
    return replace(site, policy=replace(site.policy, monthly_budget=monthly))


def a_state(site: Site) -> State:
    """Make a state that costs 1500 for the host, 250 for panels, 300 for a switch: 2050 in all."""
    return replace(onto_host(site), measures=frozenset({"wall-panels", "new-switch"}))


def months(found: Schedule) -> dict[str, float]:
    """Add up by hand what is spent in each month."""
    money = {"bring in: host-1": 1500.0, "measure: wall-panels": 250.0, "measure: new-switch": 300.0}
    spent: dict[str, float] = {}
    for wave in found.order.waves:
        assert wave.end is not None
        spent[f"{wave.end:%B}"] = spent.get(f"{wave.end:%B}", 0.0) + sum(
            money.get(task.id, 0.0) for task in wave.tasks
        )
    return {month: value for month, value in spent.items() if value}


def test_tasks_cost_what_the_plan_costs() -> None:
    """All tasks together spend what the shopping list comes to."""
    site = a_site(None)
    work = work_of(Change(site, a_state(site)))
    assert sum(task.price for task in work.tasks.values()) == outlay(site, a_state(site)) == 2050.0


@pytest.mark.slow
def test_without_a_limit_all_is_bought_at_once() -> None:
    """Nothing says that money has to wait."""
    site = a_site(None)
    assert months(schedule(site, a_state(site))) == {"March": 2050.0}


@pytest.mark.slow
@pytest.mark.parametrize(("monthly", "count"), [(2050.0, 1), (1800.0, 2), (1500.0, 2)])
def test_no_month_spends_more_than_it_has(monthly: float, count: int) -> None:
    """The schedule is proven within the limit, and the judge agrees; with less a month it does not."""
    site = a_site(monthly)
    found = schedule(site, a_state(site), Options(time_s=20.0))
    assert found.outcome is Outcome.PROVEN
    spent = months(found).values()
    assert (len(spent), sum(spent)) == (count, 2050.0)
    assert max(spent) <= monthly
    assert walk(site, a_state(site), found.order) == ()
    less = a_site(max(spent) - 1.0)
    broken = verify_order(less, a_state(less), written(found.order))
    assert {item.rule for item in broken} == {Walked.MONEY}


@pytest.mark.slow
def test_what_was_spent_in_a_month_is_gone() -> None:
    """After the host in March nothing is left of 1500 until April."""
    site = a_site(1500.0)
    state = a_state(site)
    first = next(
        w for w in schedule(site, state).order.waves if any(t.id == "bring in: host-1" for t in w.tasks)
    )
    progress = Progress().marked(first, Mark.DONE, datetime(2027, 3, 6, 15, 0, tzinfo=UTC))
    assert compute_spent_by_month(work_of(Change(site, state)), progress.done) == {12 * 2027 + 3: 1500.0}
    rest = schedule(site, state, Options(start=date(2027, 3, 8)), progress=progress)
    assert rest.outcome is Outcome.PROVEN
    assert "March" not in months(rest)


@pytest.mark.parametrize("start", [date(2027, 3, 1), None])
def test_what_no_month_can_pay_is_named(start: date | None) -> None:
    """With dates; waves without dates ask for no month."""
    site = a_site(1000.0)
    site = replace(site, windows=replace(WEEKLY, start_date=None))
    found = arrange(OrderInUse(site, a_state(site)), Options(start))
    if start is None:
        assert found.order.waves
    else:
        assert found.outcome is Outcome.INFEASIBLE
        assert ways_out(site, found.said, found.conflicts)[0].startswith(
            "'bring in: host-1' costs 1,500 EUR, a month has 1,000 EUR"
        )


@pytest.mark.slow
def test_a_window_over_the_end_of_a_month_spends_in_the_month_in_which_it_begins() -> None:
    """Wednesday 31 March from 19:00 to midnight: the host is paid for in March, also once it is done."""
    evening = replace(WEEKLY, recurring=(Recurring(2, time(19), 5.0),), start_date=date(2027, 3, 29))
    site = replace(a_site(1500.0), windows=evening)
    state = a_state(site)
    found = schedule(site, state, Options(time_s=10.0))
    first = next(w for w in found.order.waves if any(task.id == "bring in: host-1" for task in w.tasks))
    assert first.end == datetime(2027, 3, 31, 22, 0, tzinfo=UTC)
    assert walk(site, state, found.order) == ()
    progress = Progress().marked(first, Mark.DONE, first.end)
    assert compute_spent_by_month(work_of(Change(site, state)), progress.done) == {12 * 2027 + 3: 1500.0}
