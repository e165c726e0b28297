"""Programme, ledger and judge agree on every state: 5,000 random ones, plans and others."""

from __future__ import annotations

import pytest

from tests.oracles.states import compare

STATES = 500


@pytest.mark.parametrize("seed", range(0, 100_000, 10_000))
def test_programme_ledger_and_judge_agree_to_the_last_state(seed: int) -> None:
    """Fixed to a state, the programme breaks the rules that the judge finds, and its aims are the ledger's.

    Limits of two sites of three lie exactly where a state comes to.
    """
    tally = compare(STATES, seed)
    assert tally.disagreements == []
    assert tally.states == STATES
    assert tally.plans > STATES // 20
    assert tally.states - tally.refused > STATES // 4
