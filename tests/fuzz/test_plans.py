"""Mutated plans in a number that CI bears; by hand ``python -m tests.fuzz.plans`` runs any number."""

from __future__ import annotations

import pytest

from tests.fuzz.campaign import run
from tests.fuzz.plans import trial

COUNT = 240


@pytest.mark.slow
def test_a_mutated_plan_is_refused_with_its_place_or_judged() -> None:
    """None ends as a mistake of our own, and all three ends occur."""
    tally = run(trial, range(COUNT))
    assert tally.crashes == []
    assert min(tally.counts[outcome] for outcome in ("refused", "broken", "holds")) > 0
