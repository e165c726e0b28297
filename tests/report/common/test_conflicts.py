"""Sentences of conflicts on the way to a plan: who, by how much, and what helps."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.domain.conflict import Conflict, Rule, Shown
from planner.report.common.conflicts import conflict_words
from tests.kit.plain import plain_site

WAY = Shown.ON_THE_WAY
CASES = [
    (
        Conflict(Rule.WINDOWS, amount=7.5, unit="h", there=16.0, shown=WAY, wave=4),
        1,
        "the work takes 23.5 h and the 4 windows looked at have 16.0 h, with the order of the tasks and "
        "the days of rollback in between: give more or longer windows.",
    ),
    (
        Conflict(Rule.WINDOW, ("move: files",), amount=2.0, unit="h", there=4.0, shown=WAY, work_h=6.0),
        1,
        "'move: files' takes 6.0 h with the way back, the longest window has 4.0 h: give it a "
        "window of 6.0 h.",
    ),
    (
        Conflict(
            Rule.WINDOW,
            ("re-use: alder", "move: mail"),
            amount=0.5,
            unit="h",
            there=4.0,
            shown=WAY,
            others=("mail",),
            work_h=9.0,
        ),
        2,
        "'re-use: alder' and 'move: mail' in one go take 9.0 h with the way back, the longest window "
        "has 4.0 h for 2 people: give it a window of 4.5 h, or replicate its data beforehand "
        "('method: replicate').",
    ),
    (
        Conflict(
            Rule.MONTHLY_BUDGET, ("bring in: a", "move: b"), amount=500.0, unit="EUR", there=1000.0, shown=WAY
        ),
        1,
        "'bring in: a' with what is done in one wave with it costs 1,500 EUR, a month has 1,000 EUR: have "
        "1,500 EUR in one month, or pay for it in parts.",
    ),
]


@pytest.mark.parametrize(("conflict", "crew", "words"), CASES)
def test_time_and_money_that_lack_are_told_with_what_helps(conflict: Conflict, crew: int, words: str) -> None:
    """23.5 of 16 h; 6 of 4 h; 9 h of work for two are 4.5 h; 1,500 of 1,000 EUR."""
    site = plain_site()
    site = replace(site, windows=replace(site.windows, crew=crew))
    assert conflict_words(site, conflict) == words
