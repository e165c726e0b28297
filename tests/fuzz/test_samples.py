"""A small run of the fuzzer of load samples."""

from __future__ import annotations

import pytest

from tests.fuzz import campaign
from tests.fuzz.samples import mutant, trial

COUNT = 500


@pytest.mark.slow
def test_every_mutated_table_is_taken_or_refused() -> None:
    """No mutated CSV ends in anything but a page; some are taken, most are refused."""
    tally = campaign.run(trial, range(COUNT))
    assert not tally.crashes, "\n".join(campaign.report(tally, 1.0))
    assert tally.total == COUNT
    assert min(tally.counts["usable"], tally.counts["refused"]) > COUNT // 20


def test_a_seed_gives_its_table_again() -> None:
    """A failure is reproduced from its seed alone."""
    assert [mutant(seed) for seed in range(20)] == [mutant(seed) for seed in range(20)]
