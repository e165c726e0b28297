"""Large sites: a first checked plan and a programme with little work, small proven gaps."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.formulation.build import build
from planner.placement.formulation.problem import prepare
from planner.placement.infeasibility.preflight import preflight
from planner.placement.optimise.initial_plan import construct_plan
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.verify import verify_plan, verify_state
from tests.benchmarks.generated import generated_site
from tests.kit.effort import calls_of

GROWTH = 3.0
"""What twice the services may cost in work: more than twice, far less than four times."""


@pytest.mark.slow
def test_a_thousand_services_have_a_checked_plan_at_once() -> None:
    """What is looked at before solving and the first plan take work that grows with the services."""
    site = generated_site(1000)
    state = construct_plan(site, 0)
    assert preflight(site) == ()
    assert state is not None
    assert verify_state(site, state) == ()
    assert {name for machine in state.machines for name in machine.services} == {*site.service}
    assert _growth(lambda site: (preflight(site), construct_plan(site, 0))) < GROWTH


@pytest.mark.slow
def test_a_thousand_services_are_written_down_quickly() -> None:
    """The programme is written with work that does not grow with rules times machines times services."""
    assert len(build(prepare(generated_site(1000))).place) > 1000
    assert _growth(lambda site: build(prepare(site))) < GROWTH


def _growth(work: Callable[[Site], object]) -> float:
    """Compute how many times the work on 500 services the work on 1,000 is, in calls of functions."""
    small, large = generated_site(500), generated_site(1000)
    work(small)
    return calls_of(lambda: work(large)) / calls_of(lambda: work(small))


@pytest.mark.slow
@pytest.mark.parametrize(("services", "seed", "most"), [(100, 1, 0.005), (200, 1, 0.01), (200, 2, 0.01)])
def test_large_sites_end_with_a_small_proven_gap(services: int, seed: int, most: float) -> None:
    """Of the mean watts at most half a percent is open at 100 services and one at 200, within a minute."""
    site = generated_site(services, seed, aims=(Aim.POWER,))
    plan = solve(site, Options(time_s=60.0)).plan
    assert plan is not None
    assert verify_plan(site, plan) == ()
    assert plan.aims[0].bound > 0.0
    assert plan.aims[0].gap <= most * plan.aims[0].value
