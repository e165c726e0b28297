"""Orders and schedules walked against the raw site, and broken ones that the walk must refuse."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from planner.domain.conflict import Place, Rule
from planner.domain.machines import Circuit, Role
from planner.domain.plan import Outcome
from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.moves import Order, order
from planner.moves.figures.machine_presence import When
from planner.moves.figures.room_figures import Figures
from planner.moves.figures.window_limits import limits
from planner.moves.grid.evaluation import build_slots
from planner.moves.grid.time_grid import TimeGrid
from planner.moves.grid.windows import build_windows
from planner.moves.scheduling.initial_schedules import build_best
from planner.moves.scheduling.problem import build_problem
from planner.moves.scheduling.request import Options
from planner.moves.scheduling.schedule import schedule
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.walk import walk
from planner.moves.tasks.wave import Dates, build_order
from planner.moves.tasks.work_packages import work_of
from planner.report.moves.build import ways_out
from planner.verify import Walked
from tests.kit.sites import medium_site, plain_site, random_site
from tests.moves.kit import onto_host, service, site_with
from tests.moves.targets import easy_target, good_target

LIMITS = {
    "heat": "heat",
    "circuits": "circuit",
    "rack": "rack",
    Walked.RACK: "rack",
    Walked.START: "start",
}
LONG = Windows(
    "Europe/Vienna", (Recurring(5, time(8), 12.0), Recurring(2, time(19), 5.0)), (), date(2027, 3, 1)
)


def a_case(seed: int) -> tuple[Site, State]:
    """Make a random site and a good state to reach, or give up."""
    site = replace(random_site(seed, boxes=4, services=6), windows=LONG)
    state = good_target(site)
    assume(state is not None)
    assert state is not None
    return site, state


CALM = (HealthCheck.filter_too_much, HealthCheck.too_slow)


@pytest.mark.slow
@settings(max_examples=15, deadline=None, suppress_health_check=CALM)
@given(st.integers(0, 10_000))
def test_an_order_breaks_nothing_that_it_does_not_say(seed: int) -> None:
    """Whatever the walk finds in an order is a limit that the order itself reports."""
    site, state = a_case(seed)
    found = order(site, state)
    assume(not work_of(Change(site, state)).untied.outages)
    said = {(item.rule, item.where) for wave in found.waves for item in wave.strains}
    for breach in walk(site, state, found):
        if breach.rule == "capacity":
            assert breach.where in {where for _, where in said}
        elif breach.rule != "together":
            assert (LIMITS[breach.rule], breach.where) in said, breach


def built_on_dates(site: Site, state: State) -> Order | None:
    """Make an order in the site's windows, built without a solver; None where building finds none."""
    work, days = work_of(Change(site, state)), build_windows(site.windows, 60)
    grid = TimeGrid(work, build_slots(days, site.windows.crew))
    at = build_best(build_problem(grid))
    dates = [Dates(day.start, day.end) for day in days]
    return None if at is None else build_order(work, grid.batches(at), dates)


@pytest.mark.slow
@settings(max_examples=300, deadline=None, suppress_health_check=CALM)
@given(st.integers(0, 100_000))
def test_every_order_of_300_random_sites_passes_the_judge(seed: int) -> None:
    """Built on dates or without: what it does not say of itself the judge does not find either."""
    site = medium_site(seed, 9) if seed % 3 == 0 else random_site(seed, boxes=4, services=6)
    site = replace(site, windows=replace(LONG, crew=1 + seed % 2))
    state = easy_target(site, seed)
    assume(state is not None)
    assert state is not None
    assume(not work_of(Change(site, state)).untied.outages)
    found = built_on_dates(site, state) if seed % 4 < 2 else order(site, state, hours=12.0)
    assume(found is not None)
    assert found is not None
    if not found.breaches:
        assert walk(site, state, found) == ()
    else:
        assert walk(site, state, found) != ()


@pytest.mark.slow
@settings(max_examples=8, deadline=None, suppress_health_check=CALM)
@given(st.integers(0, 10_000))
def test_every_schedule_that_is_given_as_good_survives_the_walk(seed: int) -> None:
    """A schedule with a plan breaks nothing; one without says what stands in the way."""
    site, state = a_case(seed)
    assume(not work_of(Change(site, state)).untied.outages)
    found = schedule(site, state, Options(time_s=4.0))
    if found.outcome in (Outcome.PROVEN, Outcome.STOPPED_WITH_PLAN):
        assert walk(site, state, found.order) == ()
        assert found.order.breaches == ()
    else:
        assert found.said or found.conflicts


def _plain() -> tuple[Site, State, Order]:
    site = plain_site()
    state = onto_host(site)
    return site, state, order(site, state)


def test_a_good_order_passes() -> None:
    """The walk has nothing against an order of the plain site."""
    assert walk(*_plain()) == ()


@pytest.mark.slow
@pytest.mark.parametrize("sort", ["bring in", "prepare", "back up", "move", "hold", "retire"])
def test_an_order_without_a_task_is_refused(sort: str) -> None:
    """Leaving out any one task is found."""
    site, state, found = _plain()
    waves = list(found.waves)
    at, task = next((i, t) for i, wave in enumerate(waves) for t in wave.tasks if t.sort == sort)
    waves[at] = replace(waves[at], tasks=tuple(t for t in waves[at].tasks if t is not task))
    assert walk(site, state, replace(found, waves=tuple(waves)))


def test_an_order_backwards_is_refused() -> None:
    """The waves in reverse break the walk."""
    site, state, found = _plain()
    turned = tuple(replace(w, number=i + 1) for i, w in enumerate(reversed(found.waves)))
    assert walk(site, state, replace(found, waves=turned))


def test_two_directory_servers_in_one_wave_are_refused() -> None:
    """Merging the waves of two directory servers is found."""
    roles = frozenset({"directory"})
    site = site_with(service("dc-1", roles=roles), service("dc-2", "birch", roles=roles))
    state = onto_host(site)
    found = order(site, state)
    tasks = tuple(task for wave in found.waves[1:] for task in wave.tasks)
    merged = (found.waves[0], replace(found.waves[1], tasks=tasks))
    assert any(item.rule == "directory" for item in walk(site, state, replace(found, waves=merged)))


def tight(breaker_a: float) -> Site:
    """Make the plain site on a breaker that may carry all it bears: 1150 W today, 1270 W with the host."""
    site = plain_site()
    circuit = Circuit("circuit-a", 100.0, breaker_a, 100.0 * breaker_a)
    return replace(site, supply=replace(site.supply, circuits=(circuit,)), windows=LONG)


@pytest.mark.slow
def test_a_start_that_a_breaker_does_not_bear_stops_an_order() -> None:
    """Half of alder's 200 W come on top while it starts: 1370 W are borne by 13.7 A at 100 V, not by 13 A."""
    site = tight(13.0)
    found = schedule(site, onto_host(site), Options(time_s=5.0))
    assert found.outcome is Outcome.INFEASIBLE
    assert any(
        "circuit-a lacks 70 W while alder starts" in text
        for text in ways_out(site, found.said, found.conflicts)
    )
    assert Walked.START in {breach.rule for breach in walk(site, onto_host(site), found.order)}
    enough = tight(13.7)
    good = schedule(enough, onto_host(enough), Options(time_s=5.0))
    assert good.outcome is Outcome.PROVEN
    assert walk(enough, onto_host(enough), good.order) == ()


def test_a_box_that_is_set_up_anew_starts_as_one_machine() -> None:
    """Before and after it is a host it is the same box on a tight circuit: one limit for its start."""
    site = tight(13.0)
    target = State(
        (
            Machine("host-1", Role.HOST, "circuit-a", ("records-db", "mail"), kind="quiet-host"),
            Machine("alder", Role.HOST, "circuit-a", ("files",), box="alder"),
        ),
        cooling=state_today(site).cooling,
    )
    work = work_of(Change(site, target))
    found = [item.about for item in limits(Figures(work.change, When.CREST, work.late_tasks), work)]
    starts = [(item.subject, item.place) for item in found if item.rule is Rule.START]
    assert (("alder",), Place("circuit-a", "circuit-a")) in starts
    assert len(found) == len(set(found))
