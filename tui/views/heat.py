"""Heat: watts, temperature and air by season, today and then, with the racks as a picture."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.figures import aligned, listed, number
from planner.report.common.text import Cell, Line, heading, line, table
from planner.report.plan.page import FigureEntry, PlanPage
from tui.session import Session
from tui.views.racks import rack_lines

SHOWN = ("power", "heat into the room", "room temperature", "airflow")
UNITS_SHOWN = ("W", "°C", "m3/h")
BAR = 10


def heat_lines(session: Session) -> list[Line]:
    """Set the place: each season, then space and circuits, then the racks."""
    planned = session.planned
    if planned is None:
        return [line("no plan yet", "dim"), *rack_lines(session.site, None)]
    page = planned.page
    lines: list[Line] = []
    for season in page.cooling:
        lines += _season(page, season.season, season.surroundings_c, season.today, season.then)
    lines += heading("Space and circuits")
    lines += table([_heads(), *(_row(entry) for entry in page.figures if is_space(entry))])
    return [*lines, *rack_lines(planned.site, planned.plan.state)]


def is_space(entry: FigureEntry) -> bool:
    """Say whether a figure is about rack space or circuits."""
    return entry.figure in ("rack units", "circuit load")


def _season(
    page: PlanPage, season: str, outside_c: float, today: tuple[str, ...], then: tuple[str, ...]
) -> Iterator[Line]:
    yield from heading(f"{season}, {number(outside_c)} °C around the room")
    runs = f"  cooling today: {listed(today) or 'nothing'}; then: {listed(then) or 'nothing'}"
    yield line(runs)
    rows = [_row(entry) for entry in page.figures if entry.of == season and _is_shown(entry)]
    yield from table([_heads(), *rows])


def _is_shown(entry: FigureEntry) -> bool:
    return entry.figure in SHOWN and entry.unit in UNITS_SHOWN


def _heads() -> tuple[Cell, ...]:
    heads = (Cell(text, "dim", right=True) for text in ("today", "then", "limit"))
    return (Cell(""), *heads, Cell(""), Cell("today, then", "dim"))


def _row(entry: FigureEntry) -> tuple[Cell, ...]:
    name = entry.figure if entry.figure != "circuit load" else f"circuit load, {entry.of}"
    over = entry.limit is not None and entry.after is not None and entry.after > entry.limit + 0.05
    return (
        Cell(name),
        Cell(aligned(number(entry.before), entry.before_assumed), right=True),
        Cell(aligned(number(entry.after), entry.after_assumed), "bad" if over else "", right=True),
        Cell("" if entry.limit is None else number(entry.limit), right=True),
        Cell(entry.unit + (" OVER" if over else "")),
        Cell(pair_bar(entry)),
    )


def pair_bar(entry: FigureEntry) -> str:
    """Draw a figure of today and of then as two bars on one line, on the same scale."""
    top = max(entry.before or 0.0, entry.after or 0.0, entry.limit or 0.0)
    if top <= 0.0:
        return ""
    parts = [max(0, round(BAR * (value or 0.0) / top)) for value in (entry.before, entry.after)]
    return f"{'▒' * parts[0]}{'·' * (BAR - parts[0])}│{'█' * parts[1]}"
