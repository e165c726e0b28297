"""What forbids a service on a machine, by hand on the plain site."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner import capacity
from planner.domain.conflict import Rule
from planner.domain.machines import Role
from planner.domain.resources import Demand
from planner.domain.rules import Apart, Quorum, Together
from planner.domain.site import Site
from planner.eligibility import (
    Candidate,
    candidates,
    group_of,
    groups,
    may_carry,
    nearest,
    obstacle,
)
from planner.report.common.conflicts import conflict_words, reasons
from tests.kit.plain import demand
from tests.kit.sites import plain_site

SITE = plain_site()
ALDER = Candidate("alder", "box", Role.BARE)
ALDER_AS_HOST = Candidate("alder", "box", Role.HOST)
BIRCH = Candidate("birch", "box", Role.HOST)
HOST = Candidate("quiet-host", "kind", Role.HOST)
APPLIANCE = Candidate("small-appliance", "kind", Role.APPLIANCE)
TOWER = Candidate("disk-tower", "kind", Role.TOWER)


def _with(name: str, **changes: object) -> Site:
    changed = (replace(item, **changes) if item.name == name else item for item in SITE.services)  # type: ignore[arg-type]
    return replace(SITE, services=tuple(changed))


def test_candidates_are_boxes_as_they_are_boxes_as_hosts_and_kinds() -> None:
    assert candidates(SITE) == (ALDER, ALDER_AS_HOST, BIRCH, HOST, APPLIANCE, TOWER)


def test_without_rules_every_service_is_a_group_of_its_own() -> None:
    assert groups(SITE) == (("records-db",), ("mail",), ("files",))


def test_chained_rules_make_one_group_in_the_order_of_the_site() -> None:
    chain = (Together(frozenset({"files", "mail"}), "a"), Together(frozenset({"mail", "records-db"}), "b"))
    assert groups(replace(SITE, together=chain)) == (("records-db", "mail", "files"),)


def test_a_group_keeps_the_place_of_its_first_service() -> None:
    site = replace(SITE, together=(Together(frozenset({"records-db", "files"}), "a"),))
    assert groups(site) == (("records-db", "files"), ("mail",))
    assert group_of(site, "files") == ("records-db", "files")


def test_an_unknown_service_has_no_group() -> None:
    with pytest.raises(KeyError):
        group_of(SITE, "payroll")


@pytest.mark.parametrize("candidate", [ALDER, HOST, TOWER])
def test_what_nothing_forbids_has_no_obstacle(candidate: Candidate) -> None:
    assert may_carry(SITE, "records-db", candidate) is None


RULES = [
    ("residents", SITE, "files", ALDER),
    ("physical", _with("mail", physical="fax card"), "mail", HOST),
    ("stay_on", _with("mail", stay_on="alder"), "mail", TOWER),
    ("needs", _with("mail", needs=frozenset({"usb-dongle"})), "mail", TOWER),
    ("units", replace(SITE, kinds=tuple(replace(k, max_units=0) for k in SITE.kinds)), "mail", TOWER),
    ("budget", replace(SITE, policy=replace(SITE.policy, budget=1000.0)), "mail", TOWER),
    ("budget", replace(SITE, policy=replace(SITE.policy, budget=99.0)), "mail", ALDER_AS_HOST),
    ("rack", replace(SITE, room=replace(SITE.room, rack_u=1)), "mail", ALDER),
    ("quorum", replace(SITE, quorums=(Quorum(frozenset({"mail", "files"}), 2, "start"),)), "mail", HOST),
]


@pytest.mark.parametrize(("rule", "site", "service", "candidate"), RULES)
def test_a_rule_that_forbids_is_named(rule: str, site: Site, service: str, candidate: Candidate) -> None:
    found = may_carry(site, service, candidate)
    assert found is not None
    assert found.rule == rule


def test_a_service_that_is_tied_to_a_box_may_be_there_in_any_role() -> None:
    site = _with("mail", stay_on="alder")
    assert may_carry(site, "mail", ALDER) is None
    assert may_carry(site, "mail", ALDER_AS_HOST) is None


def test_a_budget_does_not_forbid_what_stays() -> None:
    assert may_carry(replace(SITE, policy=replace(SITE.policy, budget=0.0)), "mail", ALDER) is None


def test_two_services_that_need_not_be_together_do_not_share_an_appliance() -> None:
    found = obstacle(SITE, ("mail", "files"), APPLIANCE)
    assert found is not None
    assert conflict_words(SITE, found) == "small-appliance carries one service, not files and mail"
    bound = replace(SITE, together=(Together(frozenset({"mail", "files"}), "shared files"),))
    assert obstacle(bound, ("mail", "files"), APPLIANCE) is None


def test_a_group_of_two_zones_needs_a_machine_that_keeps_them_apart() -> None:
    bound = replace(_with("mail", zone="dmz"), together=(Together(frozenset({"mail", "files"}), "x"),))
    found = may_carry(bound, "mail", HOST)
    assert found is not None
    assert conflict_words(bound, found) == "default and dmz are 2 zones; quiet-host carries 1"


def test_a_group_with_a_pair_that_must_be_apart_fits_nowhere() -> None:
    pair = frozenset({"mail", "records-db"})
    torn = replace(SITE, together=(Together(pair, "x"),), apart=(Apart(pair, "twins"),))
    assert [getattr(may_carry(torn, "mail", each), "rule", None) for each in (ALDER, HOST)] == ["apart"] * 2


@pytest.mark.parametrize(
    ("candidate", "resource", "usable"),
    [
        (ALDER, "memory_gib", 32.0),  # a bare box keeps no headroom
        (ALDER_AS_HOST, "memory_gib", 32.0 * 0.8 - 4.0),
        (HOST, "memory_gib", 64.0 * 0.8 - 4.0),
        (HOST, "cpu", 16.0 * 0.75),
        (HOST, "vcpu", 16.0 * 4.0),
        (TOWER, "memory_gib", 32.0 * 0.8),
        (TOWER, "vcpu", math.inf),
        (TOWER, "disk_gb", 2000.0),
    ],
)
def test_what_an_empty_machine_has(candidate: Candidate, resource: str, usable: float) -> None:
    assert capacity.usable(SITE, candidate.spec(SITE), candidate.role, resource) == usable


def test_a_shortage_comes_with_numbers() -> None:
    # 48 GiB and 0.5 GiB for the guest on 64 GiB x 80 % - 4 GiB = 47.2 GiB
    site = _with("mail", demand=demand(1.0, 48.0))
    found = may_carry(site, "mail", HOST)
    assert found is not None
    assert (found.rule, found.resource, found.needed) == (Rule.CAPACITY, "memory_gib", 48.5)
    assert found.there == pytest.approx(47.2)
    assert found.amount == pytest.approx(1.3)
    assert conflict_words(site, found) == (
        "memory of quiet-host: mail would need 48.5 GiB, 47.2 GiB are there "
        "after headroom of 20 % and its own 4 GiB"
    )


def test_the_worst_shortage_is_named() -> None:
    # memory 96.5 of 47.2 is twice too much, CPU 13.2 of 12 a tenth
    found = may_carry(_with("mail", demand=demand(12.0, 96.0)), "mail", HOST)
    assert found is not None
    assert found.resource == "memory_gib"


def test_the_hour_with_the_most_counts() -> None:
    # the two peaks fall into different hours: 5 + 1 = 6 of 8 x 75 %, not 5 + 5
    first = Demand((5.0, 1.0, 1.0), (1.0,), (4.0,), (50.0,), (10.0,), (10.0,))
    second = Demand((1.0, 5.0, 1.0), (1.0,), (4.0,), (50.0,), (10.0,), (10.0,))
    pair = Together(frozenset({"mail", "records-db"}), "x")
    site = replace(_with("mail", demand=first), together=(pair,), slots=3)
    changed = tuple(replace(s, demand=second) if s.name == "records-db" else s for s in site.services)
    assert may_carry(replace(site, services=changed), "mail", TOWER) is None


def test_a_service_that_fits_somewhere_has_no_nearest() -> None:
    assert not nearest(SITE, "mail")


def test_the_nearest_machine_is_the_one_that_lacks_least() -> None:
    # 96.5 of 47.2 GiB on the host, 96 of 25.6 on the tower, 96 of 32 on alder
    site = _with("mail", demand=demand(1.0, 96.0))
    assert reasons(site, None, nearest(site, "mail")) == (
        "mail needs 96.5 GiB of memory; the nearest, quiet-host, has 47.2 GiB "
        "after headroom of 20 % and its own 4 GiB",
    )


def test_where_only_rules_forbid_they_are_all_said() -> None:
    site = _with("mail", needs=frozenset({"phone-card"}), stay_on="birch")
    (found,) = reasons(site, None, nearest(site, "mail"))
    assert found.startswith("mail fits nowhere: ")
    assert "mail stays on birch, not on quiet-host" in found
    assert "mail needs phone-card, which birch does not offer" in found
