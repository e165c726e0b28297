"""Conflicts of random sites without a plan: each has a sentence, and giving way as it says makes it go."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.placement.infeasibility.preflight import preflight
from planner.placement.solve import solve
from planner.report.common.conflicts import conflict_words, figure
from tests.placement.infeasibility.tightened import OPTIONS, Case, cases, loosened

SHOWN = {
    (Shown.NOWHERE, Rule.CAPACITY),
    (Shown.IN_ALL, Rule.QUORUM),
    (Shown.REPAIR, Rule.BUDGET),
    (Shown.REPAIR, Rule.RACK),
    (Shown.REPAIR, Rule.CIRCUIT),
    (Shown.REPAIR, Rule.HEAT),
    (Shown.REPAIR, Rule.APART),
    (Shown.REPAIR, Rule.CAPACITY),
    (Shown.AFTER_LOSS, Rule.CAPACITY),
    (Shown.AFTER_LOSS, Rule.SPARE_HOSTS),
}
"""What the sites have to bring forth for the properties to be of use."""


@pytest.fixture(scope="module")
def found() -> list[Case]:
    """The sites without a plan, of which there are enough of every sort."""
    made = list(cases(range(30)))
    assert {(item.shown, item.rule) for case in made for item in case.result.conflicts} >= SHOWN
    return made


@pytest.mark.slow
def test_every_conflict_has_a_sentence_with_its_names_and_figure(found: list[Case]) -> None:
    """Who, where and how much are in the words, whatever the rule."""
    for case in found:
        assert case.result.conflicts
        for item in case.result.conflicts:
            words = conflict_words(case.site, item)
            if item.place is not None:
                assert item.place.name in words
            if item.shown is Shown.REPAIR and item.amount and item.rule not in (Rule.APART, Rule.EXCLUDES):
                assert figure(item.amount) in words


def test_of_hours_only_the_worst_is_named(found: list[Case]) -> None:
    """No two conflicts of a site differ in their hour and amount alone."""
    for case in found:
        told = [replace(item, hour=None, amount=0.0) for item in case.result.conflicts]
        assert len(told) == len(set(told)), told


def test_a_lack_that_is_filled_is_gone(found: list[Case]) -> None:
    """What shows without a solver no longer shows once there is as much more as it says."""
    filled = 0
    for case in found:
        for item in preflight(case.site):
            eased = loosened(case.site, item) if item.rule is Rule.CAPACITY else None
            if eased is not None:
                assert not any(_is_same(item, other) for other in preflight(eased)), item
                filled += 1
    assert filled > 10


@pytest.mark.slow
def test_a_site_that_gives_way_as_it_is_told_has_a_plan(found: list[Case]) -> None:
    """All that the cheapest repair names gives way together, by its amount."""
    repaired = 0
    for case in found:
        repairs = [item for item in case.result.conflicts if item.shown is Shown.REPAIR]
        eased = _all_loosened(case.site, repairs) if repairs else None
        if eased is not None:
            result = solve(eased, OPTIONS)
            assert result.outcome is not Outcome.INFEASIBLE, (repairs, result.conflicts)
            assert result.plan is not None
            repaired += 1
    assert repaired > 10


def test_without_the_spare_hosts_that_are_named_there_is_a_plan(found: list[Case]) -> None:
    """Where spare hosts are said to be what leaves no plan, there is one without them."""
    named = 0
    for case in found:
        if any(item.rule is Rule.SPARE_HOSTS for item in case.result.conflicts):
            assert solve(replace(case.site, policy=replace(case.site.policy, spare_hosts=0)), OPTIONS).plan
            named += 1
    assert named


def _is_same(one: Conflict, other: Conflict) -> bool:
    return (one.rule, one.subject, one.place, one.resource) == (
        other.rule,
        other.subject,
        other.place,
        other.resource,
    )


def _all_loosened(site: Site, conflicts: list[Conflict]) -> Site | None:
    eased: Site | None = site
    for item in conflicts:
        eased = None if eased is None else loosened(eased, item)
    return eased
