"""Spare hosts: exactly the best plan of those in which any so many hosts may be lost, and what is said."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest

from planner.domain.machines import Role
from planner.domain.plan import Outcome
from planner.domain.rules import Aim, Apart, Together
from planner.domain.site import Site
from planner.placement.failover.guests import hosts_of, restarting_items
from planner.placement.failover.rebalance import rebalance
from planner.placement.failover.restart import failing, restarts
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.report.common.conflicts import reasons
from planner.solver import Limits
from planner.verify import verify_state
from tests.kit.plain import demand
from tests.kit.sites import plain_site
from tests.oracles.brute import Brute
from tests.oracles.elsewhere import best_of
from tests.oracles.order import alike, values_of
from tests.placement.failover.spare_sites import middling_site, spare_site, with_spare
from tests.verify.clinic import box, folded, unit

SITES, PROFILED, TWICE = 120, 120, 72
CHUNK = 12
CLOSE = dict.fromkeys(Aim, 1e-3)
CPSAT_CLOSE = {Aim.SOUND: 1e-9, Aim.POWER: 0.01, Aim.COST: 1e-6, Aim.CHANGE: 1e-9}


def _assert_as_good_as_any(site: Site) -> None:
    best = Brute(site).best(site.policy.aims)
    result = solve(site)
    assert (result.plan is None) == (best.state is None), (site.name, result.conflicts, best.values)
    if result.plan is None:
        assert result.outcome is Outcome.INFEASIBLE, site.name
        return
    assert result.outcome is Outcome.PROVEN, site.name
    assert verify_state(site, result.plan.state) == ()
    reached = values_of(site, result.plan.state)
    assert alike(reached, best.values, CLOSE), (site.name, site.policy.aims, reached, best.values)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, SITES, CHUNK))
def test_no_state_with_a_spare_host_is_better(first: int) -> None:
    """A plan exists exactly when some state passes the judge, the spare host included, and none beats it."""
    for seed in range(first, first + CHUNK):
        _assert_as_good_as_any(spare_site(seed))


@pytest.mark.slow
@pytest.mark.parametrize("first", range(1000, 1000 + PROFILED, CHUNK))
def test_no_state_with_a_spare_host_and_profiles_is_better(first: int) -> None:
    """The same with loads of three hours, in each of which every failure must fit."""
    for seed in range(first, first + CHUNK):
        _assert_as_good_as_any(spare_site(seed, slots=3))


@pytest.mark.slow
@pytest.mark.parametrize("first", range(2000, 2000 + TWICE, CHUNK))
def test_no_state_with_two_spare_hosts_is_better(first: int) -> None:
    """The same where any two hosts may be lost at once, every third site with loads of three hours."""
    for seed in range(first, first + CHUNK):
        _assert_as_good_as_any(spare_site(seed, slots=3 if seed % 3 else None, spare=2))


def _effect(sites: Iterable[Site], fewer: int) -> tuple[int, int, int]:
    """Count sites with a plan, those whose plan the wish for more spare changes, those it leaves none."""
    plans = changed = none_left = 0
    for site in sites:
        kept, free = solve(site).plan, solve(with_spare(site, fewer)).plan
        plans += kept is not None
        none_left += kept is None and free is not None
        if kept is not None and free is not None:
            changed += not alike(values_of(site, kept.state), values_of(site, free.state), CLOSE)
    return plans, changed, none_left


@pytest.mark.slow
def test_two_spare_hosts_leave_plans_and_cost_more() -> None:
    """Agreement says something of two spare hosts too: there are plans, and some that one would change."""
    sites = (spare_site(seed, spare=2) for seed in range(2000, 2000 + TWICE, 3))
    plans, changed, none_left = _effect(sites, fewer=1)
    assert plans >= 5
    assert changed >= 2
    assert none_left >= 5


@pytest.mark.slow
def test_the_spare_host_matters_on_many_of_the_sites() -> None:
    """Agreement says something: there are plans, plans that the wish changes, and sites it leaves none."""
    plans, changed, none_left = _effect((spare_site(seed) for seed in range(1, SITES, 3)), fewer=0)
    assert plans >= 12
    assert changed >= 8
    assert none_left >= 6


@pytest.mark.slow
def test_a_constraint_solver_agrees_on_larger_sites() -> None:
    """With 8 to 11 services an own formulation of every loss gives plans as good, or none as well."""
    sites = [middling_site(seed, spare=2 if seed % 4 == 3 else 1) for seed in range(12)]
    compared = 0
    for site, other in zip(sites, best_of(sites), strict=True):
        if other.unsure:
            continue
        compared += 1
        result = solve(site)
        assert (result.plan is None) == (other.state is None), (site.name, result.conflicts)
        if result.plan is not None and other.state is not None:
            assert result.outcome is Outcome.PROVEN
            assert verify_state(site, other.state) == ()
            assert alike(values_of(site, result.plan.state), other.values, CPSAT_CLOSE), site.name
    assert compared >= 10


def test_where_everything_restarts_by_hand() -> None:
    """Records-db and mail go to the other host; it then carries 4 + 28 + 1.5 = 33.5 GiB of 51.2."""
    state = folded(unit("quiet-host", 1, "records-db", "mail"), unit("quiet-host", 2, "files"))
    first, second = restarts(with_spare(plain_site()), state)
    assert first.lost == ("quiet-host-1",)
    assert first.to == (("records-db", "quiet-host-2"), ("mail", "quiet-host-2"))
    assert second.to == (("files", "quiet-host-1"),)
    assert first.stranded == second.stranded == ()


def test_what_does_not_come_back_is_told() -> None:
    """A service that need not restart and one tied to the lost box stay off, and take no room."""
    site = plain_site()
    files = replace(site.services[2], stay_on="birch")
    mail = replace(site.services[1], restart=False)
    site = with_spare(replace(site, services=(site.services[0], mail, files)))
    state = folded(box("birch", Role.HOST, "mail", "files"), unit("quiet-host", 1, "records-db"))
    found = {item.lost[0]: item for item in restarts(site, state)}
    assert found["birch"].stays_off == ("mail", "files")
    assert found["birch"].to == ()
    # records-db takes 4 + 16.5 GiB and more; birch has 12.8 GiB after headroom
    assert found["quiet-host-1"].stranded == ("records-db",)
    assert failing(site, state) == (("quiet-host-1",),)


def test_no_spare_host_asked_for_nothing_fails() -> None:
    """Without the wish no loss is looked at."""
    assert failing(plain_site(), folded()) == ()


def test_guests_shared_out_anew() -> None:
    """Services kept apart need a host more than there are of them; where it is missing nothing helps.

    Six services of 10 GiB take 10.5 each; a host has 47.2 GiB for guests, so it carries four at most.
    """
    site = plain_site()
    names = [f"app-{number}" for number in range(6)]
    services = tuple(replace(site.services[0], name=name, demand=demand(0.5, 10.0)) for name in names)
    kinds = tuple(replace(kind, max_units=3) for kind in site.kinds)
    site = with_spare(replace(site, services=services, kinds=kinds))
    site = replace(site, apart=(Apart(frozenset(names[3:]), "one must answer"),))
    state = folded(
        unit("quiet-host", 1, *names[:4]), unit("quiet-host", 2, names[4]), unit("quiet-host", 3, names[5])
    )
    # app-3, app-4 and app-5 are apart on three hosts: whichever is lost, its one has nowhere to go
    assert len(failing(site, state)) == 3
    assert rebalance(site, state, Limits()) is None
    site = replace(site, apart=(Apart(frozenset(names[4:]), "one must answer"),))
    crowded = folded(
        unit("quiet-host", 1, names[0]),
        unit("quiet-host", 2, *names[1:4], names[4]),
        unit("quiet-host", 3, names[5]),
    )
    # a loss of the second host puts app-4 on the first and the others beside it
    assert failing(site, crowded) == ()
    other = rebalance(site, state, Limits())
    assert other is not None
    assert failing(site, other) == ()


def test_groups_restart_as_one() -> None:
    """What must be together is one item; what need not restart is not in it."""
    site = plain_site()
    site = replace(site, together=(Together(frozenset({"records-db", "mail"}), "shared files"),))
    lost = unit("quiet-host", 1, "records-db", "mail", "files")
    assert [item.names for item in restarting_items(site, lost)] == [{"records-db", "mail"}, {"files"}]
    optional = tuple(replace(item, restart=item.name != "mail") for item in site.services)
    items = restarting_items(replace(site, services=optional), lost)
    assert [item.names for item in items] == [{"records-db"}, {"files"}]


def test_reasons_name_the_loss() -> None:
    """Where only the spare host is in the way, the reasons say what its loss would lack."""
    site = with_spare(plain_site())
    one = tuple(replace(k, max_units=1) for k in site.kinds if k.role is Role.HOST)
    boxes = tuple(replace(item, hosts_today=False, may_host=False) for item in site.boxes)
    moved = tuple(replace(item, needs=frozenset({"fibre"})) for item in site.services)
    kinds = tuple(replace(k, spec=replace(k.spec, offers=frozenset({"fibre"}))) for k in one)
    result = solve(replace(site, kinds=kinds, boxes=boxes, services=moved))
    assert result.outcome is Outcome.INFEASIBLE
    told = reasons(site, result.outcome, result.conflicts)
    assert any(reason.startswith("if quiet-host is lost, ") for reason in told), told
    assert "without the spare host that the policy asks for there would be a plan" in told


def test_without_time_no_spare_host_is_claimed() -> None:
    """A plan that comes out of a stopped solve keeps the spare host as well, or there is none."""
    for seed in range(0, 24, 3):
        site = spare_site(seed)
        plan = solve(site, Options(time_s=0.05)).plan
        if plan is not None:
            assert verify_state(site, plan.state) == ()
            assert len(hosts_of(plan.state)) != 1 or not restarting_items(site, hosts_of(plan.state)[0])
