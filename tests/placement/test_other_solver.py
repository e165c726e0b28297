"""The same model solved by CBC: the values must be those of HiGHS."""

from __future__ import annotations

import pytest

from planner.domain.site import Site
from planner.placement.result import Options
from planner.placement.solve import solve
from tests.kit.sites import medium_site, tiny_site
from tests.oracles.order import values_of

SITES = (
    *(tiny_site(seed) for seed in range(400, 424)),
    *(medium_site(seed, services=8) for seed in range(12)),
)


@pytest.mark.slow
@pytest.mark.parametrize("site", SITES, ids=lambda site: f"{site.name} with {len(site.services)} services")
def test_both_solvers_agree(site: Site) -> None:
    """On 36 sites both solvers end alike, and their plans are equally good in every aim."""
    highs, cbc = solve(site), solve(site, Options(solver="cbc"))
    assert highs.outcome is cbc.outcome
    if highs.plan is not None and cbc.plan is not None:
        expected = values_of(site, highs.plan.state)
        assert values_of(site, cbc.plan.state) == pytest.approx(expected, abs=1e-3)
