"""Large sites: a first checked plan in two seconds, a programme written in little more, small proven gaps."""

from __future__ import annotations

import time

import pytest

from planner.domain.rules import Aim
from planner.placement.formulation.build import build
from planner.placement.formulation.problem import prepare
from planner.placement.infeasibility.preflight import preflight
from planner.placement.optimise.initial_plan import construct_plan
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.verify import verify_plan, verify_state
from tests.benchmarks.generated import generated_site

FIRST_S, WRITTEN_S = 2.0, 4.0
"""Seconds of one processor; measured were 1.0 and 1.3."""


def test_a_thousand_services_have_a_checked_plan_at_once() -> None:
    """What is looked at before solving and the first plan take two seconds together."""
    site = generated_site(1000)
    began = time.process_time()
    reasons, state = preflight(site), construct_plan(site, 0)
    busy_s = time.process_time() - began
    assert reasons == ()
    assert state is not None
    assert verify_state(site, state) == ()
    assert {name for machine in state.machines for name in machine.services} == {*site.service}
    assert busy_s < FIRST_S


def test_a_thousand_services_are_written_down_quickly() -> None:
    """The programme is written in a time that does not grow with rules times machines times services."""
    site = generated_site(1000)
    began = time.process_time()
    model = build(prepare(site))
    busy_s = time.process_time() - began
    assert len(model.place) > 1000
    assert busy_s < WRITTEN_S


@pytest.mark.parametrize(("services", "seed", "most"), [(100, 1, 0.005), (200, 1, 0.01), (200, 2, 0.01)])
def test_large_sites_end_with_a_small_proven_gap(services: int, seed: int, most: float) -> None:
    """Of the mean watts at most half a percent is open at 100 services and one at 200, within a minute."""
    site = generated_site(services, seed, aims=(Aim.POWER,))
    plan = solve(site, Options(time_s=60.0)).plan
    assert plan is not None
    assert verify_plan(site, plan) == ()
    assert plan.aims[0].bound > 0.0
    assert plan.aims[0].gap <= most * plan.aims[0].value
