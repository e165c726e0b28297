"""What a command writes when there is no plan."""

from __future__ import annotations

from planner.cli import output, signals
from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.placement.result import Result
from planner.report.common.conflicts import reasons
from planner.report.common.text import line, paragraph
from planner.report.plan import json_file
from planner.report.plan.text import contradiction_lines

BY_ONE_RUN = ", by one solver run that nothing else has confirmed"


TIME_USED = 0.9
"""The share of the time from which on it was the time that was short."""


def write_no_plan(site: Site, result: Result, as_json: bool, time_s: float) -> None:
    """Say that there is no plan, and why: as text, or as JSON of the plan format without a plan."""
    if as_json:
        output.write_json(json_file.dump_none(site, result))
        return
    alone = result.outcome is Outcome.INFEASIBLE and not result.confirmed_by
    lines = [line(f"{site.name}: {result.outcome}{BY_ONE_RUN if alone else ''}", "bad")]
    why = reasons(site, result.outcome, result.conflicts, result.failure)
    if result.outcome is Outcome.STOPPED_EMPTY and not why:
        lines += paragraph(_why_empty(result, time_s))
    for reason in why:
        lines += paragraph(f"- {reason}", hang="  ")
    lines += contradiction_lines(result.contradictions)
    output.write(lines)


def _why_empty(result: Result, time_s: float) -> str:
    """Say what ended a search without a plan: the person, the clock, or its own means."""
    if signals.was_stopped():
        return "You stopped the search before a plan was found, and none was ruled out."
    if result.seconds >= TIME_USED * time_s:
        return "No plan was found in the time given, and none was ruled out: give --time more."
    return "The search ended before its time without a plan, and none was ruled out: try another --seed."
