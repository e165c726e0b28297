"""What both oracles take from the order of the aims: values, and how much a held aim may give back."""

from __future__ import annotations

from collections.abc import Mapping

from planner.domain.plan import aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger

GIVE_BACK: Mapping[Aim, float] = {Aim.SOUND: 1e-9, Aim.POWER: 1e-4, Aim.COST: 1e-4, Aim.CHANGE: 1e-3}
"""By how much a later aim may worsen a held one: sound is a step and stays, the others are rounding."""

Values = Mapping[Aim, float]


def values_of(site: Site, state: State) -> dict[Aim, float]:
    """Collect the value of every aim for a state, from its ledger."""
    book = ledger(site, state)
    return {aim: aim_value(site, state, book, aim) for aim in Aim}


def alike(left: Values, right: Values, tolerance: Mapping[Aim, float]) -> bool:
    """Say whether two plans are equally good in every aim they have both."""
    return all(abs(left[aim] - right[aim]) <= tolerance[aim] for aim in left if aim in right)
