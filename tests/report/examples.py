"""A hand-made plan for the plain site, with one of everything in it."""

from __future__ import annotations

from planner.domain.machines import Role
from planner.domain.plan import AimResult, Outcome, Plan
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import Machine, State
from tests.kit.sites import plain_site


def plain_plan() -> tuple[Site, Plan]:
    """Make the plain site with a plan: two guests on a bought host, a service left on birch, a measure."""
    host = Machine("quiet-host-1", Role.HOST, "circuit-a", ("records-db", "mail"), kind="quiet-host")
    birch = Machine("birch", Role.HOST, "circuit-a", ("files",), box="birch")
    state = State(
        machines=(host, birch),
        measures=frozenset({"new-switch"}),
        cooling={"summer": frozenset({"split-unit"}), "winter": frozenset({"door-fan"})},
    )
    aims = (
        AimResult(Aim.SOUND, 12.5, 12.5, True),
        AimResult(Aim.POWER, 500.25, 480.5, False),
        AimResult(Aim.COST, 2450.0, -float("inf"), False),
    )
    return plain_site(), Plan(state, aims, Outcome.STOPPED_WITH_PLAN, "the time limit of 2 s")
