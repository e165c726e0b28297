"""Fit and the judge share no code; on one machine by itself they must say the same."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.eligibility import Candidate, candidates, groups, obstacle
from planner.verify import verify_state
from tests.kit.sites import random_site

SAME = frozenset(("residents", "alone", "physical", "stay_on", "needs", "zones", "apart", "units", "budget"))
"""Rules of one machine by itself; rack units and quorums also count what is elsewhere."""


def _judged(site: Site, group: tuple[str, ...], candidate: Candidate) -> set[str]:
    """List the judge's rules of one machine that a state with nothing but this machine breaks."""
    if candidate.sort == "box":
        circuit = site.box[candidate.ref].circuit
        machine = Machine(candidate.ref, candidate.role, circuit, group, box=candidate.ref)
    else:
        circuit = site.supply.circuits[0].name
        machine = Machine(f"{candidate.ref}-1", candidate.role, circuit, group, kind=candidate.ref)
    found = verify_state(site, State((machine,)))
    elsewhere = {b for b in found if b.rule == "stay_on" and b.where not in group}
    return {breach.rule for breach in found if breach not in elsewhere} & (SAME | {"capacity"})


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_what_fit_forbids_the_judge_rejects_by_the_same_rule(seed: int) -> None:
    site = random_site(seed)
    for group in groups(site):
        for candidate in candidates(site):
            found = obstacle(site, group, candidate)
            if found is not None and found.rule not in ("rack", "quorum"):
                assert found.rule in _judged(site, group, candidate), found


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_what_the_judge_rejects_on_one_machine_fit_forbids(seed: int) -> None:
    site = random_site(seed)
    for group in groups(site):
        for candidate in candidates(site):
            if obstacle(site, group, candidate) is None:
                assert _judged(site, group, candidate) == set(), (group, candidate)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_strangers_on_one_machine_are_judged_alike(seed: int) -> None:
    site = random_site(seed)
    pair = tuple(service.name for service in site.services[:2])
    for candidate in candidates(site):
        found = obstacle(site, pair, candidate)
        assert (found is None) <= (_judged(site, pair, candidate) == set())
