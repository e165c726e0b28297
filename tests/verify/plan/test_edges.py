"""Just at a limit is good, just over it is not; and a rule reaches no further than it says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.domain.machines import Circuit, Role
from planner.domain.measures import Measure, SourceEffect
from planner.domain.plan import AimResult, Outcome, Plan
from planner.domain.rules import Aim, Apart, Together
from planner.domain.site import Site
from planner.domain.state import State
from planner.verify import verify_plan, verify_state
from planner.verify.plan.machines import bound_to
from tests.verify.clinic import SITE, TODAY, box, folded, unit, with_policy, with_service

SHUT = folded(cooling={"summer": frozenset(), "winter": frozenset()})
PAIR = frozenset({"mail", "files"})


def _circuit(continuous_w: float) -> Site:
    circuits = (Circuit("circuit-a", 230.0, 16.0, continuous_w),)
    return replace(SITE, supply=replace(SITE.supply, circuits=circuits))


def _rules(site: Site, state: State, *, moving: bool = False) -> set[str]:
    return {breach.rule for breach in verify_state(site, state, allow_double=moving)}


@pytest.mark.parametrize(
    ("site", "state"),
    [
        (replace(SITE, room=replace(SITE.room, rack_u=2)), folded()),  # two switches of 1 unit
        (with_policy(budget=1500.0), folded()),
        (_circuit(870.0), folded()),  # as in broken.py
        (with_policy(inlet_limit_c=28.385), SHUT),
        (with_policy(host_memory_gib=21.7), folded()),  # 28 + 1.5 + 21.7 = 51.2 = 64 x 80 %
    ],
)
def test_just_at_a_limit_is_good(site: Site, state: State) -> None:
    assert _rules(site, state) == set()


@pytest.mark.parametrize(
    ("rule", "site", "state"),
    [
        ("budget", with_policy(budget=1499.99), folded()),
        ("circuits", _circuit(869.99), folded()),
        ("heat", with_policy(inlet_limit_c=28.384), SHUT),
        ("capacity", with_policy(host_memory_gib=21.701), folded()),
    ],
)
def test_just_over_a_limit_is_not(rule: str, site: Site, state: State) -> None:
    assert _rules(site, state) == {rule}


def test_a_bound_a_little_over_its_value_is_not_believed() -> None:
    plan = Plan(folded(), (AimResult(Aim.COST, 1700.0, 1700.01, False),), Outcome.WITHIN_GAP)
    assert {breach.rule for breach in verify_plan(SITE, plan)} == {"aim_bound"}


def test_a_service_that_is_no_guest_may_move_to_a_tower() -> None:
    state = folded(unit("quiet-host", 1, "records-db", "files"), unit("disk-tower", 1, "mail"))
    assert _rules(with_service("mail", physical="fax card"), state) == set()


def test_a_rule_about_others_ties_no_service() -> None:
    site = replace(SITE, together=(Together(frozenset({"files", "records-db"}), "shared files"),))
    assert bound_to(site, "mail") == {"mail"}
    assert bound_to(site, "files") == {"files", "records-db"}


def test_gear_may_be_taken_away() -> None:
    away = Measure("no-switch", "phone-switch", SourceEffect(removes=True))
    site = replace(SITE, measures=(*SITE.measures, away))
    assert _rules(site, folded(measures=["no-switch"])) == set()


def test_a_box_that_becomes_a_host_on_the_way_is_judged_as_one() -> None:
    # 4 + 24 + 2 x 0.5 = 29 GiB of 32 x 80 % = 25.6
    state = folded(box("alder", Role.HOST, "records-db", "mail"), TODAY.machines[1], cooling=TODAY.cooling)
    assert _rules(SITE, state, moving=True) == {"capacity"}


def test_a_host_of_today_that_takes_another_service_on_the_way_is_judged() -> None:
    site = replace(SITE, apart=(Apart(PAIR, "twins"),))
    machines = (box("alder", Role.BARE, "records-db"), box("birch", Role.HOST, "files", "mail"))
    assert _rules(site, folded(*machines, cooling=TODAY.cooling), moving=True) == {"apart", "capacity"}
