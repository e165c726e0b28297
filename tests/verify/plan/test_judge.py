"""The judge passes good plans and catches every broken one by its rule."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.domain.machines import Role
from planner.domain.plan import AimResult, Outcome, Plan
from planner.domain.resources import Demand
from planner.domain.rules import Aim
from planner.verify import RULES, verify_plan, verify_state
from tests.verify.broken import BROKEN, Broken
from tests.verify.clinic import SITE, TODAY, box, folded, plan_for, unit, with_service


def _name(case: Broken) -> str:
    return f"{case.rule}: {case.says}"


def test_a_good_plan_breaks_no_rule() -> None:
    assert verify_plan(SITE, plan_for(SITE, folded())) == ()


def test_doing_nothing_is_a_good_plan_where_nothing_forbids_it() -> None:
    assert verify_plan(SITE, plan_for(SITE, TODAY)) == ()


def test_a_plan_with_every_sort_of_thing_in_it_breaks_no_rule() -> None:
    state = folded(
        box("alder", Role.HOST, "records-db"),
        unit("small-appliance", 1, "mail"),
        unit("disk-tower", 1, "files"),
        measures=["slow-fans", "new-switch", "wall-panels"],
        cooling={"summer": frozenset({"split-unit"}), "winter": frozenset({"door-fan"})},
    )
    assert verify_plan(SITE, plan_for(SITE, state)) == ()


@pytest.mark.parametrize("case", BROKEN, ids=_name)
def test_a_broken_plan_is_caught_by_its_rule_and_no_other(case: Broken) -> None:
    found = verify_plan(case.site, case.plan)
    assert {breach.rule for breach in found} == {case.rule}


@pytest.mark.parametrize("case", BROKEN, ids=_name)
def test_the_sentence_says_what_is_broken(case: Broken) -> None:
    assert any(case.says in breach.message for breach in verify_plan(case.site, case.plan))


def test_every_rule_has_a_broken_plan() -> None:
    assert {case.rule for case in BROKEN} == set(RULES)


def test_every_rule_has_a_name_of_its_own() -> None:
    assert len(set(RULES)) == len(RULES)


@pytest.mark.parametrize(
    "resource", ["cpu", "memory_gib", "disk_gb", "iops", "network_mbps", "gpu_memory_gib"]
)
def test_a_demand_that_is_no_number_fits_nowhere(resource: str) -> None:
    demand: Demand = replace(SITE.service["mail"].demand, **{resource: (math.nan,)})
    found = verify_state(with_service("mail", demand=demand), folded())
    assert "capacity" in {breach.rule for breach in found}


@pytest.mark.parametrize(
    ("claim", "rules"),
    [
        (AimResult(Aim.COST, math.nan, 0.0, False), {"aim_value", "aim_bound"}),
        (AimResult(Aim.COST, 1700.0, math.nan, False), {"aim_bound"}),
    ],
)
def test_an_aim_that_is_no_number_is_not_believed(claim: AimResult, rules: set[str]) -> None:
    # the host's 1500 and 4 hours of 50 are 1700
    plan = Plan(folded(), (claim,), Outcome.WITHIN_GAP)
    assert {breach.rule for breach in verify_plan(SITE, plan)} == rules
