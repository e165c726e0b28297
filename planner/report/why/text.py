"""Why a service goes where it goes, as text and as facts: one line a machine it could be on."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.figures import signed
from planner.report.common.text import Line, clean, heading, line, paragraph
from planner.report.why.page import PlaceEntry, WhyPage

SIGNS = {"planned": "✔", "possible": "+", "unknown": "…", "impossible": "✖", "forbidden": "✖"}
HEADING = "Were it on another machine: the best plan then, less the plan"
TOLD_DB = 0.05
"""A difference under this is not told."""


def why_lines(page: WhyPage) -> list[Line]:
    """Set the page: where it goes and why, then each machine with what it would change."""
    lines = [line(f"{page.site}: why {page.service} goes there", "head")]
    lines += paragraph(where_words(page))
    lines += heading(HEADING)
    for entry in page.places:
        lines += paragraph(f"{SIGNS[entry.verdict]} {place_words(page, entry)}", hang="  ")
    return lines


def why_plain(page: WhyPage) -> list[Line]:
    """Set the page with one fact a line."""
    facts = [f"service {page.service}: {where_words(page)}"]
    facts += [f"service {page.service}, {entry.verdict}: {place_words(page, entry)}" for entry in page.places]
    return [line(clean(text)) for text in facts]


def where_words(page: WhyPage) -> str:
    """Say where a service goes, and why."""
    return f"{page.runs_today_on} -> {page.runs_then_on}: {page.reason or 'no rule decides'}"


def place_words(page: WhyPage, entry: PlaceEntry) -> str:
    """Say what a service on a machine would mean."""
    if entry.verdict == "planned":
        return f"{entry.machine}: as planned"
    if entry.verdict != "possible":
        lead = "no plan can exist: " if entry.verdict == "impossible" else ""
        return f"{entry.machine}: {lead}{'; '.join(entry.reasons)}"
    words = [", ".join(_differences(page, entry)), *entry.otherwise]
    proof = "" if entry.proven else " (there may be a better one)"
    return f"{entry.machine}: {'; '.join(words)}{proof}"


def _differences(page: WhyPage, entry: PlaceEntry) -> Iterator[str]:
    told = [(name, more) for name, more in entry.levels_more_db if more is not None and abs(more) >= TOLD_DB]
    for name, more in told:
        yield f"{signed(more, 1)} dBA at {name}"
    if not told:
        yield "no listener hears a difference"
    yield f"{signed(entry.power_more_w or 0.0, 1)} W"
    yield f"{signed(entry.cost_more or 0.0)} {page.currency} with work"
