"""A cooler whose set point nobody wrote: model, ledger and judge agree on what it cools the room to."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.ledger import ledger
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.verify import verify_plan
from tests.inventory.base import SMALL, load_text

POWERFUL = "takes_out: 6 kW, power: 90 W"
"""So much that it could take the room to far below freezing, for so little that power asks for it."""


@pytest.mark.parametrize("limit_c", [18, 20, 22, 24, 27, 30])
@pytest.mark.parametrize("aim", [Aim.POWER, Aim.SOUND])
def test_no_plan_is_colder_than_the_cooler_makes_it(tmp_path: Path, limit_c: int, aim: Aim) -> None:
    """A proven plan passes the judge; no season is warmer than the limit or chilled below the set point.

    Walls let 21 °C in in winter and 26 °C in summer, so without the cooler no season would be colder.
    """
    text = SMALL.replace("takes_out: 2 kW, power: 700 W", POWERFUL)
    site = load_text(tmp_path, f"{text}policy: {{inlet_limit: {limit_c} °C}}\n").site
    result = solve(site, Options(time_s=30.0, aims=(aim,)))
    assert result.outcome is Outcome.PROVEN
    assert result.plan is not None
    assert not verify_plan(site, result.plan)
    setpoint_c = site.cooling[0].setpoint_c
    assert setpoint_c == min(24.0, limit_c)
    for season, entry in zip(site.seasons, ledger(site, result.plan.state).seasons, strict=True):
        assert entry.temperature_c <= limit_c + 1e-6
        assert entry.temperature_c >= min(setpoint_c, season.surroundings_c) - 1e-6
