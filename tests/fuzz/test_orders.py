"""Mutated orders in a number that CI bears; by hand ``python -m tests.fuzz.orders`` runs more."""

from __future__ import annotations

import pytest

from tests.fuzz import campaign
from tests.fuzz.orders import run_one

COUNT = 400


@pytest.mark.slow
def test_a_mutated_order_is_refused_rejected_or_passed_and_never_without_a_task() -> None:
    tally = campaign.run(run_one, range(COUNT))
    assert tally.crashes == []
    assert {*tally.counts} == {"refused", "rejected", "passed"}
