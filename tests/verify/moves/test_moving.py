"""Moments on the way: a service may run twice and a machine stand empty; today's faults are not new ones."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.machines import Circuit, Role
from planner.domain.rules import Apart, Quorum, Together
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.verify import verify_state
from tests.kit.sites import random_site
from tests.verify.clinic import SITE, TODAY, box, folded, unit, with_box, with_gpus, with_policy, with_service

ALDER, BIRCH = TODAY.machines
PAIR = frozenset({"mail", "files"})
TODAYS_COOLING = TODAY.cooling


def _on_the_way(site: Site, state: State) -> set[str]:
    return {breach.rule for breach in verify_state(site, state, allow_double=True)}


def test_a_service_may_run_twice_while_it_is_copied() -> None:
    copying = folded(ALDER, BIRCH, unit("quiet-host", 1, "mail"), cooling=TODAYS_COOLING)
    assert _on_the_way(SITE, copying) == set()
    assert {breach.rule for breach in verify_state(SITE, copying)} == {"service_once"}


def test_copies_on_the_way_take_gpu_memory() -> None:
    """Each on its box of today has 8 GiB; their copies on one host ask for 16."""
    copying = folded(ALDER, BIRCH, unit("quiet-host", 1, "mail", "files"), cooling=TODAYS_COOLING)
    assert _on_the_way(with_gpus(8.0, 16.0), copying) == set()
    assert _on_the_way(with_gpus(8.0, 12.0), copying) == {"capacity"}


def test_a_service_may_not_run_three_times() -> None:
    hosts = (unit("quiet-host", number, "mail") for number in (1, 2))
    assert _on_the_way(SITE, folded(ALDER, BIRCH, *hosts, cooling=TODAYS_COOLING)) == {"service_once"}


def test_a_service_may_not_run_twice_on_one_machine() -> None:
    host = unit("quiet-host", 1, "records-db", "mail", "mail", "files")
    assert _on_the_way(SITE, folded(host)) == {"service_once"}


def test_a_service_must_run_somewhere_on_the_way_too() -> None:
    assert _on_the_way(SITE, folded(BIRCH, box("alder", Role.BARE, "mail"))) == {"service_once"}


def test_a_machine_may_stand_empty_on_the_way() -> None:
    ready = folded(ALDER, BIRCH, unit("quiet-host", 1), cooling=TODAYS_COOLING)
    assert _on_the_way(SITE, ready) == set()


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000))
def test_today_is_never_blamed(seed: int) -> None:
    site = random_site(seed)
    assert _on_the_way(site, state_today(site)) == set()


def test_an_old_fault_is_excused_and_a_new_one_is_not() -> None:
    site = replace(SITE, apart=(Apart(frozenset({"records-db", "mail"}), "twins"),))
    assert _on_the_way(site, TODAY) == set()
    moved = folded(unit("quiet-host", 1, "records-db", "mail"), BIRCH, cooling=TODAYS_COOLING)
    assert _on_the_way(site, moved) == {"apart"}


def test_an_arrival_does_not_put_an_old_fault_on_a_host() -> None:
    """Two that share a host today may wait there for their turn, whoever joins them; who joins is no twin."""
    host = with_box("alder", hosts_today=True)
    joined = folded(box("alder", Role.HOST, "records-db", "mail", "files"), cooling=TODAYS_COOLING)
    old = replace(host, apart=(Apart(frozenset({"records-db", "mail"}), "twins"),))
    assert "apart" not in _on_the_way(old, joined)
    assert "apart" in {breach.rule for breach in verify_state(old, joined)}
    new = replace(host, apart=(Apart(frozenset({"records-db", "files"}), "twins"),))
    assert "apart" in _on_the_way(new, joined)


def test_a_pair_moves_one_after_the_other_while_one_machine_has_both() -> None:
    site = replace(SITE, together=(Together(frozenset({"records-db", "mail"}), "shared files"),))
    copying = folded(ALDER, BIRCH, unit("quiet-host", 1, "mail"), cooling=TODAYS_COOLING)
    assert _on_the_way(site, copying) == set()
    torn = folded(
        box("alder", Role.BARE, "records-db"), BIRCH, unit("quiet-host", 1, "mail"), cooling=TODAYS_COOLING
    )
    assert _on_the_way(site, torn) == {"together"}


def test_a_pair_that_is_not_together_today_may_come_together_in_steps() -> None:
    site = replace(SITE, together=(Together(PAIR, "shared files"),))
    halfway = folded(ALDER, unit("quiet-host", 1, "files"), cooling=TODAYS_COOLING)
    assert _on_the_way(site, halfway) == set()


def test_a_quorum_holds_on_the_way_as_far_as_it_holds_today() -> None:
    site = replace(SITE, quorums=(Quorum(PAIR, 2, "cold start"),))
    assert _on_the_way(site, TODAY) == set()
    assert _on_the_way(site, folded(cooling=TODAYS_COOLING)) == {"quorum"}


def test_a_service_may_wait_on_its_old_box_for_the_box_it_belongs_on() -> None:
    site = with_service("mail", stay_on="birch")
    assert _on_the_way(site, TODAY) == set()
    assert _on_the_way(site, folded()) == {"stay_on"}


def test_a_circuit_that_is_over_today_may_not_get_worse() -> None:
    # today 200 + 160/0.8 W boxes, 100 + 40/0.8 W switches, 600 W split unit: 1,150 W
    supply = replace(SITE.supply, circuits=(Circuit("circuit-a", 230.0, 16.0, 1000.0),))
    site = replace(SITE, supply=supply)
    assert _on_the_way(site, TODAY) == set()
    ready = folded(ALDER, BIRCH, unit("quiet-host", 1), cooling=TODAYS_COOLING)
    assert _on_the_way(site, ready) == {"circuits"}


def test_a_room_that_is_too_warm_today_may_not_get_warmer() -> None:
    site = with_policy(inlet_limit_c=23.0)
    assert _on_the_way(site, TODAY) == set()
    shut = folded(cooling={"summer": frozenset(), "winter": frozenset()})
    assert _on_the_way(site, shut) == {"heat"}


NOTHING: frozenset[str] = frozenset()


def _two_coolers(*, excludes: frozenset[str] = NOTHING, requires: frozenset[str] = NOTHING) -> Site:
    """Make the plain site with a second cooler that runs in summer today, as the first one does."""
    first = SITE.cooling[0]
    runs = frozenset({"summer"})
    other = replace(first, name="old-fan", runs_today=runs, excludes=excludes, requires=requires)
    return replace(SITE, cooling=(first, other))


def test_coolers_that_exclude_each_other_and_run_today_may_go_on_until_one_stops() -> None:
    site = _two_coolers(excludes=frozenset({"split-unit"}))
    today = state_today(site)
    assert today.cooling["summer"] == {"split-unit", "old-fan"}
    assert _on_the_way(site, today) == set()
    assert {breach.rule for breach in verify_state(site, today)} == {"cooling_excludes"}
    only_split = replace(site, cooling=(SITE.cooling[0], replace(site.cooling[1], runs_today=frozenset())))
    assert _on_the_way(only_split, today) == {"cooling_excludes"}


def test_a_cooler_that_lacks_today_what_it_requires_may_go_on_without() -> None:
    site = _two_coolers(requires=frozenset({"wall-panels"}))
    assert _on_the_way(site, state_today(site)) == set()
    assert {breach.rule for breach in verify_state(site, state_today(site))} == {"cooling_requires"}
    leaning = _two_coolers(requires=frozenset({"split-unit"}))
    alone = replace(state_today(leaning), cooling={"summer": frozenset({"old-fan"}), "winter": frozenset()})
    assert "cooling_requires" in _on_the_way(leaning, alone)
