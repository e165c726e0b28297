"""Solves that end early, and sites that have no plan: what is said of them."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from planner.domain.measures import ROOM, Measure, RoomEffect
from planner.domain.plan import AimResult, Outcome
from planner.domain.rules import Aim, Quorum
from planner.domain.site import Site
from planner.placement.optimise.context import Context, Inquiry, Strategies, context_of, prepare
from planner.placement.optimise.lexicographic import Lexicographic
from planner.placement.result import Options, Progress, Result
from planner.placement.solve import solve
from planner.report.common.conflicts import reasons
from planner.solver import Answer, Ending, Limits
from planner.verify import verify_plan
from tests.benchmarks.generated import generated_site
from tests.kit.plain import demand, plain_site
from tests.kit.sites import medium_site


def _assert_stopped(site: Site, result: Result) -> None:
    """Nothing is proven; a plan that was there without solving has passed the judge."""
    assert result.outcome in (Outcome.STOPPED_EMPTY, Outcome.STOPPED_WITH_PLAN)
    assert (result.plan is None) == (result.outcome is Outcome.STOPPED_EMPTY)
    if result.plan is not None:
        assert not all(aim.proven for aim in result.plan.aims)
        assert verify_plan(site, result.plan) == ()


def test_no_time_proves_nothing() -> None:
    """With no time at all a solve is stopped, without a plan or with a checked one that is not proven."""
    site = plain_site()
    _assert_stopped(site, solve(site, Options(time_s=0.0)))


def test_cancelled_before_it_starts() -> None:
    """A solve that is cancelled before it starts is stopped, and nothing is proven."""
    site, cancel = plain_site(), threading.Event()
    cancel.set()
    _assert_stopped(site, solve(site, cancel=cancel))


@pytest.mark.slow
@pytest.mark.parametrize("delay_s", [0.05, 0.2, 0.6])
def test_cancelled_on_the_way(delay_s: float) -> None:
    """A solve cancelled on the way keeps a plan only if the judge accepts it."""
    site, cancel = medium_site(29, services=15), threading.Event()
    timer = threading.Timer(delay_s, cancel.set)
    timer.start()
    result = solve(site, cancel=cancel)
    timer.join()
    if result.plan is None:
        assert result.outcome is Outcome.STOPPED_EMPTY
    else:
        assert result.outcome in (Outcome.STOPPED_WITH_PLAN, Outcome.PROVEN)
        assert verify_plan(site, result.plan) == ()


def test_cancelled_at_the_first_news_keeps_the_plan() -> None:
    """A solve cancelled when a later aim is in hand keeps the plan of the aims before, checked."""
    site, cancel = medium_site(12, services=15), threading.Event()
    first = site.policy.aims[0]

    def watch(progress: Progress) -> None:
        if progress.aim is not first:
            cancel.set()

    result = solve(site, cancel=cancel, watch=watch)
    assert result.plan is not None
    assert verify_plan(site, result.plan) == ()
    assert result.outcome is (Outcome.STOPPED_WITH_PLAN if cancel.is_set() else Outcome.PROVEN)


@pytest.mark.slow
def test_plans_told_of_on_the_way_get_better_and_lead_to_the_last() -> None:
    """Of each aim the values of checked plans fall, and none is under what was reached in the end."""
    site, told = medium_site(12, services=15), dict[Aim, list[float]]()

    def watch(progress: Progress) -> None:
        if progress.state is not None and progress.best is not None:
            told.setdefault(progress.aim, []).append(progress.best)

    result = solve(site, watch=watch)
    assert result.plan is not None
    assert set(told) == {aim.aim for aim in result.plan.aims}
    for aim in result.plan.aims:
        assert told[aim.aim] == sorted(told[aim.aim], reverse=True)
        assert told[aim.aim][-1] >= aim.value - 1e-6


def _words(site: Site, result: Result) -> tuple[str, ...]:
    return reasons(site, result.outcome, result.conflicts)


def _with_service(site: Site, **changes: object) -> Site:
    first = replace(site.services[0], **changes)  # type: ignore[arg-type]
    return replace(site, services=(first, *site.services[1:]))


def test_what_fits_nowhere_is_named_with_the_nearest_machine() -> None:
    """A service too large for every machine is refused with the resource and the machine that comes nearest.

    Today's 32 GiB box is smaller than the host: 64 GiB less 20 % headroom and its own 4 GiB is 47.2 GiB.
    """
    site = _with_service(plain_site(), demand=demand(2.0, 100.0))
    result = solve(site)
    assert result.outcome is Outcome.INFEASIBLE
    assert result.plan is None
    reason = next(text for text in _words(site, result) if "records-db" in text)
    assert "memory" in reason
    assert "GiB" in reason
    assert "quiet-host" in reason
    assert "47.2" in reason


def test_cpu_that_fits_nowhere_is_named() -> None:
    """A service that takes more CPU than any machine has is refused in those words."""
    site = _with_service(plain_site(), demand=demand(50.0, 4.0))
    result = solve(site)
    assert result.outcome is Outcome.INFEASIBLE
    assert any(
        "records-db" in text and "CPU" in text and "reference cores" in text for text in _words(site, result)
    )


def test_a_quorum_nobody_can_fill_is_named() -> None:
    """A quorum of services of which too few fit anything but a host is refused with its reason."""
    site = plain_site()
    names = frozenset({"records-db", "mail"})
    site = replace(site, quorums=(Quorum(names, 3, "one must answer first"),))
    result = solve(site)
    assert result.outcome is Outcome.INFEASIBLE
    assert any("one must answer first" in text for text in _words(site, result))


def test_limits_that_leave_no_plan_are_named() -> None:
    """Where only the limits together leave no plan, the reasons name a limit that would have to give way."""
    site = plain_site()
    circuits = tuple(replace(circuit, continuous_w=100.0) for circuit in site.supply.circuits)
    site = replace(site, supply=replace(site.supply, circuits=circuits))
    result = solve(site)
    assert result.outcome is Outcome.INFEASIBLE
    assert any("circuit-a" in text and "W" in text for text in _words(site, result))


def test_too_many_room_measures_are_refused() -> None:
    """More room measures than can be weighed against each other are refused, with what to do about it."""
    site = plain_site()
    panels = tuple(
        Measure(f"panel-{n}", ROOM, room_effect=RoomEffect(leak_delta_m3_s=0.001), price=10.0)
        for n in range(9)
    )
    site = replace(site, measures=panels)
    result = solve(site)
    assert result.plan is None
    assert any("9 measures on room" in text and "allowed: no" in text for text in _words(site, result))


def test_an_aim_leaves_time_to_those_that_follow() -> None:
    """The first aim may not take all the time, the last one may: 30 % of 1,000 s are left each time."""
    left = dict[Aim, float]()

    def note(context: Context, inquiry: Inquiry) -> Answer:
        left[inquiry.question.aim] = context.budget.left_s
        return Answer(Ending.EMPTY, {}, float("inf"), 0.0, 0.0)

    context = context_of(generated_site(40), Limits(time_s=1000.0))
    context.strategies = Strategies(once=(), rounds=(note,))
    prepare(context)
    results = list[AimResult]()
    Lexicographic(context).solve((Aim.POWER, Aim.COST, Aim.CHANGE), results)
    assert not any(result.proven for result in results)
    assert 600.0 < left[Aim.POWER] <= 700.0
    assert 600.0 < left[Aim.COST] <= 700.0
    assert 900.0 < left[Aim.CHANGE] <= 1000.0
