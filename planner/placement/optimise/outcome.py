"""The end of a solve: its best state becomes a plan with its proof, once the judge has passed it.

Why so: a bound that was told counts. A solve that is left behind or lost keeps the bounds it told, and
hours of load that come in later do not take away the bound found without them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from planner.domain.plan import AimResult, Outcome, Plan, aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.placement.params import PARAMS
from planner.placement.result import Options, Result, refuse_rejected


def results_so_far(
    site: Site, state: State, aims: Sequence[Aim], bounds: Mapping[Aim, float], previous: State | None
) -> Iterator[AimResult]:
    """Compute how far aims are that nobody ended: a state's values beside the bounds that were told."""
    book = ledger(site, state)
    for aim in aims:
        value = aim_value(site, state, book, aim, previous)
        bound = max(0.0, min(bounds.get(aim, 0.0), value))
        yield AimResult(aim, value, bound, value - bound <= PARAMS.near.told)


def finalise(
    site: Site,
    state: State,
    results: tuple[AimResult, ...],
    options: Options,
    stopped_by: str,
    seconds: float,
) -> Result:
    """Build the result of a solve with a plan; ``stopped_by``: what ended it, where it is not proven.

    Raises RejectedPlanError when the judge rejects the plan.
    """
    outcome = _outcome(results, options.gap)
    stopped = stopped_by if outcome is Outcome.STOPPED_WITH_PLAN else ""
    plan = Plan(state, results, outcome, stopped, options.previous)
    refuse_rejected(site, plan)
    return Result(outcome, plan, (), seconds)


def with_contradictions(result: Result, contradictions: tuple[str, ...]) -> Result:
    """Note in a result, and in its plan, where runs of solvers contradicted each other."""
    plan = result.plan and replace(result.plan, contradictions=contradictions)
    return replace(result, plan=plan, contradictions=contradictions)


def _outcome(results: Sequence[AimResult], gap: float) -> Outcome:
    """Say how a solve with a plan ended, by what each aim's value and bound show."""
    if all(result.proven for result in results):
        return Outcome.PROVEN
    close = all(result.proven or result.gap <= gap * abs(result.value) for result in results)
    return Outcome.WITHIN_GAP if gap > 0.0 and close else Outcome.STOPPED_WITH_PLAN
