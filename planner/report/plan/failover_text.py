"""What the plan page says of lost hosts, as text and as facts."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.text import Cell, Line, heading, paragraph, table
from planner.report.plan.page import PlanPage, RestartEntry


def spare(page: PlanPage) -> Iterator[Line]:
    """Set the table of lost hosts, and what is accepted to stay off; nothing where no spare is asked for."""
    if page.restarts:
        many = max(len(entry.lost) for entry in page.restarts)
        lost = "a host is lost" if many == 1 else f"{many} hosts are lost at once"
        yield from heading(f"If {lost} (each loss was packed by itself)")
        rows = [(Cell(f"{_and(entry.lost)}:"), Cell(restart_words(entry))) for entry in page.restarts]
        yield from table(rows)
    if page.single_points:
        yield from heading("Accepted: off until their machine is back")
        yield from table(
            [(Cell(e.service), Cell(f"on {e.runs_on}"), Cell(e.reason, "dim")) for e in page.single_points]
        )
    elif page.restarts:
        yield from paragraph("nothing stays off for want of another machine")


def _and(names: tuple[str, ...]) -> str:
    return " and ".join(names)


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
        yield f"if {_and(entry.lost)} {'is' if len(entry.lost) == 1 else 'are'} lost: {restart_words(entry)}"
    for point in page.single_points:
        yield f"accepted single point of failure: {point.service} on {point.runs_on}, {point.reason}"
