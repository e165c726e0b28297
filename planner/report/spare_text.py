"""What the plan page says of lost hosts, as text and as facts."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.page import PlanPage, RestartEntry
from planner.report.text import Cell, Line, heading, paragraph, table


def spare(page: PlanPage) -> Iterator[Line]:
    """Set the table of lost hosts, and what is accepted to stay off; nothing where no spare is asked for."""
    if page.restarts:
        yield from heading("If a host is lost (each loss was packed by itself)")
        yield from table([(Cell(f"{entry.lost}:"), Cell(restart_words(entry))) for entry in page.restarts])
    if page.single_points:
        yield from heading("Accepted: off until their machine is back")
        rows = [(Cell(e.service), Cell(f"on {e.runs_on}"), Cell(e.reason, "dim")) for e in page.single_points]
        yield from table(rows)
    elif page.restarts:
        yield from paragraph("nothing stays off for want of another machine")


def restart_words(entry: RestartEntry) -> str:
    """Write where the services of a lost host restart, those with one new host together."""
    homes: dict[str, list[str]] = {}
    for service, host in entry.to:
        homes.setdefault(host, []).append(service)
    words = [f"{', '.join(services)} -> {host}" for host, services in homes.items()]
    if entry.stays_off:
        words.append(f"{', '.join(entry.stays_off)} -> off")
    return "; ".join(words) or "carries nothing that must restart"


def facts(page: PlanPage) -> Iterator[str]:
    """Write the same with one fact a line."""
    for entry in page.restarts:
        yield f"if {entry.lost} is lost: {restart_words(entry)}"
    for point in page.single_points:
        yield f"accepted single point of failure: {point.service} on {point.runs_on}, {point.reason}"
