"""What is told while a solve goes on: a bound that is told holds for all plans."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from planner.milp import Answer
from planner.placement import Options, Progress, solve
from planner.placement.pursuit import Pursuit
from planner.placement.script import Question, Script
from planner.site import Aim
from tests.benchmarks.generated import generated_site

TOO_HIGH = 1e9


def test_no_bound_of_a_squeezed_question_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """With part of the hosts' room left out a bound may be over the best plan: it is kept to itself."""
    squeezed: set[int] = set()
    make: Callable[[Pursuit, float], Script] = Pursuit._script
    ask: Callable[..., Answer] = Script.ask
    called = []

    def marked(self: Pursuit, squeeze: float) -> Script:
        script = make(self, squeeze)
        if squeeze > 0.0:
            squeezed.add(id(script))
        return script

    def told(self: Script, question: Question, *given: object, **named: object) -> Answer:
        watches = [item for item in (*given, *named.values()) if callable(item)]
        if id(self) in squeezed and watches:
            called.append(watches)
            watches[0](TOO_HIGH, TOO_HIGH, 0.0)
        return ask(self, question, *given, **named)

    monkeypatch.setattr(Pursuit, "_script", marked)
    monkeypatch.setattr(Script, "ask", told)
    news: list[Progress] = []
    result = solve(generated_site(160, aims=(Aim.POWER,)), Options(time_s=20.0), watch=news.append)
    assert called
    assert result.plan is not None
    value = result.plan.aims[0].value
    bounds = [item.bound for item in news if item.bound is not None]
    assert bounds
    assert max(bounds) <= value + 1e-6 * value
    assert all(item.best is None or item.best < float("inf") for item in news)
