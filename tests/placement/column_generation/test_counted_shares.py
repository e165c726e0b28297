"""Items of a pool counted by dual feasible functions: no unit holds more, and what is left open is less."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.formulation.capacity_rows import LARGE_ITEMS, SMALL_ITEMS, counted_shares
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.verify import verify_plan
from tests.benchmarks.generated import generated_site

EACH_IOPS = 3250.0
"""Six of these go on the generated sites' quiet host, and fill it to 97.5 %."""


@given(
    shares=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=30),
    k=st.sampled_from([*LARGE_ITEMS, *SMALL_ITEMS]),
)
def test_what_fits_a_unit_counts_for_one_at_most(shares: list[float], k: int) -> None:
    """Whatever a unit holds, counted so, is no more than a unit (Fekete and Schepers 2001, theorem 1)."""
    held = np.array(shares)[np.cumsum(shares) <= 1.0]
    assert counted_shares(held, k).sum() <= 1.0 + 1e-9


@pytest.mark.parametrize("number", range(2, 26))
def test_equal_parts_of_a_unit_count_as_they_are(number: int) -> None:
    """As many equal parts as fill a unit to the brim count for one unit, under every k."""
    for k in (*LARGE_ITEMS, *SMALL_ITEMS):
        assert counted_shares(np.full(number, 1.0 / number), k).sum() <= 1.0 + 1e-9


def _alike(services: int) -> Site:
    """Make a site whose services all take as many disk operations, which is what its hosts run out of."""
    site = generated_site(services, aims=(Aim.POWER,))
    busy = tuple(replace(s, demand=replace(s.demand, iops=(EACH_IOPS,))) for s in site.services)
    boxes = tuple(
        replace(box, spec=replace(box.spec, iops=EACH_IOPS * (1 + len(services))))
        for box in site.boxes
        for services in [[s for s in busy if s.box == box.name]]
    )
    kinds = tuple(kind for kind in site.kinds if kind.name in ("quiet-host", "small-box", "disk-tower"))
    return replace(site, services=busy, boxes=boxes, kinds=kinds)


@pytest.mark.slow
def test_alike_items_that_leave_hosts_short_of_full_are_bounded_well() -> None:
    """Where six fill a host short of its brim, sums alone leave more than a per cent open."""
    site = _alike(160)
    result = solve(site, Options(time_s=60.0))
    assert result.plan is not None
    power = result.plan.aims[0]
    assert power.gap <= 0.001 * power.value
    assert verify_plan(site, result.plan) == ()
