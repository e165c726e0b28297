"""The loss of any one host, where a spare is asked for."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.machines import Role
from planner.domain.resources import Demand
from planner.domain.rules import Together
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import State
from planner.verify import verify_state
from planner.verify.plan.failover import MOST_TRIES
from tests.kit.plain import demand
from tests.verify.clinic import ALL_ON_HOST, TODAY, box, folded, unit, with_policy, with_service

ASKED = with_policy(spare_hosts=1)
TWO = folded(unit("quiet-host", 1, "records-db", "mail"), unit("quiet-host", 2, "files"))


def _with_gpu(each: Demand, name: str, gib: float) -> Service:
    return replace(ASKED.services[0], name=name, demand=replace(each, gpu_memory_gib=(gib,)))


def _rules(site: Site, state: State, *, moving: bool = False) -> set[str]:
    return {breach.rule for breach in verify_state(site, state, allow_double=moving)}


def test_two_hosts_that_can_stand_in_for_each_other_are_enough() -> None:
    # all three need 4 + 28 + 3 x 0.5 = 33.5 GiB of 51.2
    assert _rules(ASKED, TWO) == set()


def test_one_host_is_enough_where_no_spare_is_asked_for() -> None:
    assert _rules(with_policy(spare_hosts=0), folded()) == set()


def test_what_need_not_restart_is_left_out() -> None:
    services = tuple(replace(service, restart=False) for service in ASKED.services)
    assert _rules(replace(ASKED, services=services), folded()) == set()


def test_a_service_tied_to_the_lost_box_is_an_accepted_loss() -> None:
    site = replace(with_service("files", stay_on="birch"), policy=ASKED.policy)
    state = folded(
        box("birch", Role.HOST, "files"), unit("quiet-host", 1, "records-db"), unit("quiet-host", 2, "mail")
    )
    assert _rules(site, state) == set()


def test_what_runs_outside_hosts_needs_no_spare() -> None:
    appliances = (unit("small-appliance", 1, "mail"), unit("small-appliance", 2, "files"))
    state = folded(unit("disk-tower", 1, "records-db"), *appliances)
    assert _rules(ASKED, state) == set()


def test_services_that_must_be_together_restart_together() -> None:
    # 30 + 30 GiB fit on two hosts with 1 GiB each (4 + 1.5 + 30.5 = 36 of 51.2), not on one (66.5)
    large = replace(ASKED, kinds=tuple(replace(kind, max_units=3) for kind in ASKED.kinds))
    demands = {"records-db": demand(1.0, 20.0), "mail": demand(1.0, 20.0), "files": demand(1.0, 10.0)}
    services = tuple(replace(item, demand=demands[item.name]) for item in large.services)
    time = replace(services[2], name="time")
    site = replace(large, services=(*services, time))
    state = folded(
        unit("quiet-host", 1, "records-db", "mail"),
        unit("quiet-host", 2, "files"),
        unit("quiet-host", 3, "time"),
    )
    # lost: 20.5 beside 4 + 10.5 is 35 of 51.2, both would be 55.5
    assert _rules(site, state) == set()
    bound = replace(site, together=(Together(frozenset({"records-db", "mail"}), "shared files"),))
    assert _rules(bound, state) == {"spare"}


def test_two_spare_hosts_are_asked_of_every_pair() -> None:
    """Three hosts with one service each: any two may be lost, the third then carries 33.5 GiB of 51.2.

    With 24 GiB each for two of them it would be 4 + 24.5 + 24.5 + 4.5 = 57.5, whichever two are lost.
    """
    kinds = tuple(replace(kind, max_units=3) for kind in ASKED.kinds)
    site = replace(with_policy(spare_hosts=2), kinds=kinds)
    state = folded(*(unit("quiet-host", n, item.name) for n, item in enumerate(site.services, start=1)))
    assert _rules(site, state) == set()
    assert _rules(site, TWO) == {"spare"}
    large = [replace(item, demand=demand(1.0, 24.0)) for item in site.services[:2]]
    found = verify_state(replace(site, services=(*large, site.services[2])), state)
    pairs = [
        "quiet-host-1 and quiet-host-2",
        "quiet-host-1 and quiet-host-3",
        "quiet-host-2 and quiet-host-3",
    ]
    assert [breach.where for breach in found] == pairs
    assert "if quiet-host-1 and quiet-host-2 are lost" in found[0].message


def test_on_the_way_no_spare_is_asked_for() -> None:
    ready = folded(*TODAY.machines, ALL_ON_HOST, cooling=TODAY.cooling)
    assert _rules(ASKED, ready, moving=True) == set()


def test_what_cannot_be_shown_in_time_is_not_believed() -> None:
    # 12 services of 3.5 GiB as guests; beside 35.5, 35.5, 35.5 and 38.5 GiB of 47.2 there is room for 11;
    # they can be placed in 11! / (3! 3! 3! 2!) = 92,400 ways before that is sure
    small = [replace(ASKED.services[1], name=f"app-{n}", demand=demand(0.1, 3.0, 10.0)) for n in range(12)]
    large = [
        replace(ASKED.services[0], name=f"db-{n}", demand=demand(1.0, memory_gib))
        for n, memory_gib in enumerate((35.0, 35.0, 35.0, 38.0))
    ]
    kinds = tuple(replace(kind, max_units=5) for kind in ASKED.kinds)
    site = replace(ASKED, services=(*small, *large), kinds=kinds)
    lost = unit("quiet-host", 1, *(item.name for item in small))
    left = [unit("quiet-host", n, item.name) for n, item in enumerate(large, start=2)]
    found = verify_state(site, folded(lost, *left))
    assert MOST_TRIES < 92_400
    assert {breach.rule for breach in found} == {"spare"}
    assert "if quiet-host-1 is lost, it is not shown that" in found[0].message


def test_what_restarts_is_tried_by_what_it_takes_of_any_resource() -> None:
    """12 services of 1 GiB of GPU memory and 3 of 9 GiB fill three hosts with 13 GiB left: 4 x 1 + 9 each.

    The small ones first would take over 3**7 ways to give up the first five on one host.
    """
    each = demand(0.1, 1.0, 10.0)
    small = [_with_gpu(each, f"app-{n}", 1.0) for n in range(12)]
    large = [_with_gpu(each, f"model-{n}", 9.0) for n in range(3)]
    there = [replace(_with_gpu(each, f"db-{n}", 26.0), restart=False) for n in range(3)]
    kinds = tuple(
        replace(kind, max_units=4, spec=replace(kind.spec, gpu_memory_gib=39.0)) for kind in ASKED.kinds
    )
    site = replace(ASKED, services=(*small, *large, *there), kinds=kinds)
    lost = unit("quiet-host", 1, *(item.name for item in (*small, *large)))
    left = [unit("quiet-host", n, item.name) for n, item in enumerate(there, start=2)]
    assert MOST_TRIES < 3 * 3**7
    assert _rules(site, folded(lost, *left)) == set()
