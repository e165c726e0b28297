"""The example without a spare machine: a freed box becomes the host; and where not even that is possible."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from planner.domain.conflict import Place, Rule
from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.domain.state import State
from planner.inventory import load
from planner.moves.scheduling.request import Options
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse
from planner.placement.solve import solve

EXAMPLE = Path(__file__).resolve().parents[2] / "inventories" / "no-spare-machine.yaml"


@cache
def planned() -> tuple[Site, State]:
    """Make the example with its plan's state."""
    site = load(EXAMPLE).site
    plan = solve(site).plan
    assert plan is not None
    return site, plan.state


def with_memory(site: Site, memory_gib: float) -> Site:
    """Make the site with another memory in the host there is today."""
    boxes = (
        replace(box, spec=replace(box.spec, memory_gib=memory_gib)) if box.name == "juniper" else box
        for box in site.boxes
    )
    return replace(site, boxes=tuple(boxes))


def arranged(memory_gib: float) -> ArrangedOrder:
    """Arrange the example's moves with so much memory in juniper."""
    site, state = planned()
    return arrange(OrderInUse(with_memory(site, memory_gib), state), Options(time_s=30.0))


@pytest.mark.slow
def test_nothing_is_bought_and_a_freed_box_becomes_the_host() -> None:
    """Rowan is emptied, held for a week, rebuilt, and takes over what the loud boxes carry; proven."""
    site, state = planned()
    assert not site.kinds
    assert all(machine.box is not None for machine in state.machines)
    found = arrange(OrderInUse(site, state), Options(time_s=30.0))
    assert (found.outcome, found.breaches) == (Outcome.PROVEN, ())
    at = {task.id: wave for wave in found.order.waves for task in wave.tasks}
    freed, rebuilt, taken = at["hold: rowan"], at["re-use: rowan"], at["move: drawings"]
    assert freed.number < rebuilt.number < taken.number
    assert freed.end is not None
    assert rebuilt.start is not None
    assert (rebuilt.start - freed.end).days >= 7


@pytest.mark.slow
def test_without_room_to_step_on_the_smallest_loan_is_named_and_works() -> None:
    """With 8 GiB juniper cannot carry the plotter beside its guests: 11.75 GiB are asked of 6.4 usable.

    3 + 2 + 2 GiB of guests, 0.25 GiB for each and 4 GiB for the host; a fifth stays free. So 5.35 GiB lack,
    and 5.35 / 0.8 GiB more in the machine are just enough.
    """
    without = arranged(8.0)
    assert without.outcome is Outcome.INFEASIBLE
    told = next(item for item in without.conflicts if item.rule is Rule.CAPACITY)
    lack_gib = 11.75 - 0.8 * 8.0
    assert (told.place, told.resource) == (Place("juniper", "juniper"), "memory_gib")
    assert told.amount == pytest.approx(lack_gib, abs=0.05)
    assert arranged(8.0 + lack_gib / 0.8 + 1e-6).outcome is Outcome.PROVEN
    assert arranged(8.0 + 0.95 * lack_gib / 0.8).outcome is Outcome.INFEASIBLE
