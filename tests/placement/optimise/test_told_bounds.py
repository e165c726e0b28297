"""What is told while a solve goes on: a bound that is told holds for all plans."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.placement import worker as apart
from planner.placement.formulation.question_model import Question, QuestionModel
from planner.placement.result import Options, Progress
from planner.placement.solve import solve
from planner.solver import Answer, Ending
from planner.worker import Worker
from tests.benchmarks.generated import generated_site
from tests.kit.sites import medium_site
from tests.kit.works import TOLD_BOUND

TOO_HIGH = 1e9


@pytest.mark.slow
def test_no_bound_of_a_squeezed_question_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """With part of the hosts' room left out a bound may be over the best plan: it is kept to itself."""
    ask: Callable[..., Answer] = QuestionModel.ask
    called = []

    def told(self: QuestionModel, question: Question, *given: object, **named: object) -> Answer:
        watches = [item for item in (*given, *named.values()) if callable(item)]
        if self.model.problem.squeeze > 0.0 and watches:
            called.append(watches)
            watches[0](TOO_HIGH, TOO_HIGH, 0.0)
        return ask(self, question, *given, **named)

    monkeypatch.setattr(QuestionModel, "ask", told)
    news: list[Progress] = []
    result = solve(generated_site(160, aims=(Aim.POWER,)), Options(time_s=20.0), watch=news.append)
    assert called
    assert result.plan is not None
    value = result.plan.aims[0].value
    bounds = [item.bound for item in news if item.bound is not None]
    assert bounds
    assert max(bounds) <= value + 1e-6 * value
    assert all(item.best is None or item.best < float("inf") for item in news)


@pytest.mark.slow
def test_what_was_told_counts_where_a_solver_goes_deaf(monkeypatch: pytest.MonkeyPatch) -> None:
    """A solver that told a bound and then goes deaf is ended at a cancel, and the bound it told stays."""
    cancel, worker = threading.Event(), Worker()

    def watch(progress: Progress) -> None:
        if progress.bound is not None:
            cancel.set()

    monkeypatch.setattr(apart, "SOLVE", "tests.kit.works:solved_with_a_bound_then_deafly")
    site = generated_site(60, aims=(Aim.POWER,))
    result = apart.solve_apart(worker, site, cancel=cancel, watch=watch)
    worker.close()
    assert result.outcome is Outcome.STOPPED_WITH_PLAN
    assert result.plan is not None
    assert result.plan.aims[0].bound == TOLD_BOUND
    assert not result.plan.aims[0].proven


def test_a_level_nobody_refuted_is_not_ruled_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where time ends before it is known whether no target need be missed, none is the bound."""
    ask: Callable[..., Answer] = QuestionModel.ask
    asked = []

    def undecided(self: QuestionModel, question: Question, *given: object, **named: object) -> Answer:
        if question.over_db is None:
            return ask(self, question, *given, **named)
        asked.append(question.over_db)
        return Answer(Ending.EMPTY, {}, float("inf"), float("-inf"), 0.0)

    monkeypatch.setattr(QuestionModel, "ask", undecided)
    result = solve(medium_site(29, services=15), Options(aims=(Aim.SOUND,), time_s=20.0))
    assert asked
    assert result.plan is not None
    sound = result.plan.aims[0]
    assert sound.value > 0.0
    assert sound.bound == 0.0
    assert not sound.proven
