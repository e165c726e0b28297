"""What is said where a search ended without a plan: the reason that is true."""

from __future__ import annotations

import pytest

from planner.cli import signals
from planner.cli.no_plan import write_no_plan
from planner.domain.plan import Outcome
from planner.placement.result import Result
from tests.kit.sites import plain_site


@pytest.mark.parametrize(
    ("seconds", "is_stopped", "words"),
    [
        (10.0, False, "No plan was found in the time given"),
        (9.5, False, "No plan was found in the time given"),
        (2.0, False, "The search ended before its time without a plan"),
        (2.0, True, "You stopped the search before a plan was found"),
        (10.0, True, "You stopped the search before a plan was found"),
    ],
)
def test_the_clock_is_blamed_only_where_the_time_was_used(
    seconds: float,
    is_stopped: bool,
    words: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Of 10 s that were given; a stop by the person comes first."""
    monkeypatch.setattr(signals._now, "is_stopped", is_stopped)
    write_no_plan(plain_site(), Result(Outcome.STOPPED_EMPTY, None, (), seconds), False, 10.0)
    assert words in " ".join(capsys.readouterr().out.split())
