"""A box kept for rollback must be able to come on again; where a later wave shuts that, it is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from planner.domain.machines import Circuit, Role
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.moves.scheduling.request import Options
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import OrderInUse
from tests.kit.sites import plain_site

HOST = Machine("quiet-host-1", Role.HOST, "circuit-a", ("records-db", "mail"), kind="quiet-host")
TOWER = Machine("disk-tower-1", Role.TOWER, "circuit-a", ("files",), kind="disk-tower")


def with_circuit(allowed_w: float) -> Site:
    """Make the plain site on a circuit that may carry so much for hours, on a breaker that bears more."""
    site = plain_site()
    circuit = Circuit("circuit-a", 100.0, 20.0, allowed_w)
    return replace(site, supply=replace(site.supply, circuits=(circuit,)))


def target(site: Site) -> State:
    """Make a state on a host of 120 W and a tower of 130 W, without the boxes."""
    return State((HOST, TOWER), cooling=state_today(site).cooling)


@pytest.mark.slow
@pytest.mark.parametrize(("allowed_w", "said"), [(1300.0, True), (1405.0, False)])
def test_a_way_back_that_a_later_wave_shuts_is_said(allowed_w: float, said: bool) -> None:
    """1150 W today, 1270 with the host; the tower's 130 wait until alder's 200 are off.

    From then on alder would make 1400 W again: too much for 1300, not for 1405.
    """
    site = with_circuit(allowed_w)
    found = arrange(OrderInUse(site, target(site)), Options(date(2027, 3, 1), 20.0))
    assert found.is_possible
    assert not found.breaches
    notes = [note for note in found.order.notes if "cannot come on again" in note]
    assert bool(notes) is said
    if said:
        assert "alder cannot come on again by itself: circuit-a carries 1400 W, limit 1300 W" in notes[0]
