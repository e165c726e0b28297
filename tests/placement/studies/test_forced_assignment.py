"""What comes of a service on each machine: against a search of every state, and a rule in the file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from planner.domain.plan import Outcome, Plan
from planner.domain.rules import Aim, Apart
from planner.domain.site import Site
from planner.inventory import load
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.forced_assignment import Forced, forced, place_of
from planner.report.common.conflicts import reasons
from planner.verify import verify_plan
from tests.inventory.base import load_text
from tests.kit.sites import tiny_site
from tests.oracles.brute import Brute
from tests.placement.failover.spare_sites import spare_site

AIMS = (Aim.SOUND, Aim.POWER, Aim.COST, Aim.CHANGE)
SMALL = Path(__file__).resolve().parents[3] / "inventories" / "small-office.yaml"

BOX = "{cores: 8, memory: 32 GiB, disk: 1 TB, power: {idle: 60 W, peak: 100 W}, sound: 40 dB, hosts: yes}"
TWO_HOSTS = f"""\
room: {{size: 4 x 3 x 2.5 m, heat_loss: 200 W/K}}
listeners:
  desk: {{distance: 2 m, target: 45 dBA}}
supply:
  circuits:
    left: {{breaker: 16 A}}
policy: {{spare_hosts: 1, inlet_limit: 30 °C}}
boxes:
  oak: {BOX}
  elm: {BOX}
services:
  mail: {{box: oak, cpu: 0.5, memory: 2 GiB, disk: 40 GB}}
  web: {{box: elm, cpu: 0.5, memory: 2 GiB, disk: 40 GB}}
"""


def _assert_best(brute: Brute, plan: Plan, service: str, found: Forced) -> None:
    """The plan is the best of all states that have the service there; where there is none, no state has."""
    site, there = brute.site, (found.machine, found.sort)
    states = [
        item
        for index, item in enumerate(brute.candidates)
        if place_of(site, item.state, service) == there and brute.passes(index)
    ]
    if found.plan is None:
        assert found.planned == (place_of(site, plan.state, service) == there)
        assert found.planned or not states
        return
    assert place_of(site, found.plan.state, service) == there
    assert not verify_plan(site, found.plan)
    assert found.plan.proven
    reached = {result.aim: result.value for result in found.plan.aims}
    sound = min(item.values[Aim.SOUND] for item in states)
    assert reached[Aim.SOUND] == pytest.approx(sound, abs=1e-6)
    power = min(item.values[Aim.POWER] for item in states if item.values[Aim.SOUND] <= sound + 1e-6)
    assert reached[Aim.POWER] == pytest.approx(power, abs=1e-2)


def _found(site: Site, plan: Plan, service: str) -> list[Forced]:
    return list(forced(site, plan, service, Options(aims=AIMS), solve=solve))


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 24, 6))
def test_each_machine_is_answered_as_all_states_answer(first: int) -> None:
    """On tiny sites, for every service and every machine there may be."""
    told = {"planned": 0, "possible": 0, "not": 0}
    for seed in range(first, first + 6):
        site = tiny_site(seed)
        plan = solve(site, Options(aims=AIMS)).plan
        if plan is None or site.policy.spare_hosts:
            continue
        brute = Brute(site)
        for service in site.service:
            for item in _found(site, plan, service):
                _assert_best(brute, plan, service, item)
                told["planned" if item.planned else "possible" if item.plan is not None else "not"] += 1
    assert min(told.values()) > 0


@pytest.mark.slow
def test_staying_is_the_rule_to_stay() -> None:
    """Forced to stay on its box, a service gives what the rule 'stay_on' gives in the file."""
    site = load(SMALL).site
    plan = solve(site).plan
    assert plan is not None
    service = site.service["map-tiles"]
    stays = tuple(
        replace(item, stay_on=item.box) if item.name == service.name else item for item in site.services
    )
    ruled = solve(replace(site, services=stays), Options(previous=plan.state)).plan
    item = next(each for each in forced(site, plan, service.name, solve=solve) if each.machine == service.box)
    assert item.plan is not None
    assert ruled is not None
    assert [each.aim for each in item.plan.aims] == [each.aim for each in ruled.aims]
    values = [each.value for each in ruled.aims]
    assert [each.value for each in item.plan.aims] == pytest.approx(values, abs=1e-2)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 24, 6))
def test_a_spare_host_forbids_no_place_that_a_state_allows(first: int) -> None:
    """Wherever else the service may restart: what is exact is as all states answer, all else is open."""
    told = {"exact": 0, "open": 0, "impossible": 0}
    for seed in range(first, first + 6):
        site = spare_site(seed)
        plan = solve(site, Options(aims=AIMS)).plan
        if plan is None:
            continue
        brute = Brute(site)
        for service in site.service:
            for item in _found(site, plan, service):
                if item.exact:
                    _assert_best(brute, plan, service, item)
                told["exact" if item.exact else "open"] += 1
                told["impossible"] += item.exact and item.outcome is Outcome.INFEASIBLE
                assert item.plan is None or not verify_plan(site, item.plan)
    assert told["exact"] > 2 * told["open"]


def test_a_service_may_restart_elsewhere_than_where_it_is_forced(tmp_path: Path) -> None:
    """Two boxes that are hosts, alike but in name, and one service on each: it may be on either of the two.

    While it is on the one, only the other takes it over: a place that holds for the restart too has none.
    """
    site = load_text(tmp_path, TWO_HOSTS).site
    plan = solve(site).plan
    assert plan is not None
    found = {item.machine: item for item in forced(site, plan, "mail", solve=solve)}
    assert {name: item.plan is not None or item.planned for name, item in found.items()} == {
        "oak": True,
        "elm": True,
    }
    assert all(item.exact for item in found.values())


@pytest.mark.slow
def test_a_conflict_is_told_in_words() -> None:
    """Nothing forbids timesheets on gorse by itself, but mail-relay stays there, and the two stay apart."""
    site = load(SMALL).site
    services = tuple(
        replace(item, stay_on="gorse") if item.name == "mail-relay" else item for item in site.services
    )
    rule = Apart(frozenset({"mail-relay", "timesheets"}), "one fault must not take both")
    site = replace(site, services=services, apart=(*site.apart, rule))
    plan = solve(site).plan
    assert plan is not None
    item = next(item for item in forced(site, plan, "timesheets", solve=solve) if item.machine == "gorse")
    assert item.outcome is Outcome.INFEASIBLE
    assert not item.forbidden
    words = " ".join(reasons(site, item.outcome, item.conflicts))
    assert "mail-relay" in words
    assert "timesheets" in words
