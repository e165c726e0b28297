"""What a plan decides otherwise is told by what it is of, not by what it is called."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.machines import Role
from planner.domain.plan import Outcome, Plan
from planner.domain.state import Machine, State, state_today
from planner.report.plan.alternatives import otherwise
from tests.kit.plain import plain_site


def test_a_kind_called_like_a_box_as_host_is_bought() -> None:
    """The box alder becomes a host in one plan, a unit of the kind 'alder as host' is bought in the other."""
    site = plain_site()
    kind = next(item for item in site.kinds if item.role is Role.HOST)
    site = replace(site, kinds=(*site.kinds, replace(kind, name="alder as host")))
    cooling, names = state_today(site).cooling, tuple(item.name for item in site.services)
    box = Machine("alder", Role.HOST, "circuit-a", names, box="alder")
    unit = Machine("alder as host-1", Role.HOST, "circuit-a", names, kind="alder as host")
    plan, other = (
        Plan(State((machine,), cooling=cooling), (), Outcome.STOPPED_WITH_PLAN) for machine in (box, unit)
    )
    told = list(otherwise(site, plan, other))
    assert "buys 1 alder as host instead of none" in told
    assert "does not re-use alder as host" in told
