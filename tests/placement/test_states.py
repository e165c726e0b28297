"""Programme, ledger and judge agree on every state: 5,000 random ones, plans and others."""

from __future__ import annotations

import pytest

from tests.oracles.states import Tally, compare, compare_site

STATES = 500

MOST_SITES = 1_000
"""How many sites are looked at for a state on which a planted fault shows; one of the first 100 does."""


@pytest.mark.slow
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


@pytest.mark.slow
@pytest.mark.parametrize(
    "constant",
    [
        "planner.placement.formulation.acoustic.LEVEL_DB",
        "planner.verify.plan.aims.LEVEL_DB",
        "planner.ledger.hearing.TEMPERATURE_K",
        "planner.verify.plan.limits.TEMPERATURE_K",
    ],
)
def test_a_tolerance_that_one_of_the_three_lacks_is_found(
    constant: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The comparison sees what it is there to see: states on a limit that one side takes for over it."""
    monkeypatch.setattr(constant, 0.0)
    tally = Tally()
    for seed in range(MOST_SITES):
        if seed % 3 and not tally.disagreements:
            compare_site(seed, 1, tally)
    assert tally.disagreements
