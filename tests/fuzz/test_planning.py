"""A small run of the fuzzer of plans."""

from __future__ import annotations

import pytest

from tests.fuzz import campaign
from tests.fuzz.planning import trial

COUNT = 60


@pytest.mark.slow
def test_every_usable_mutant_is_planned_or_has_no_plan() -> None:
    """Whatever can be used is planned: the judge passes the plan, and it is read as it was written."""
    tally = campaign.run(trial, range(COUNT))
    assert not tally.crashes, "\n".join(campaign.report(tally, 1.0))
    assert tally.total == COUNT
    assert tally.counts["refused"] < COUNT
