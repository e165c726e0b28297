"""The standing line: levels, watts, money, windows, and how far the plan can be trusted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.common.figures import level, number, plural, short
from planner.report.common.text import Cell, stopper
from planner.report.plan.page import ListenerEntry
from tui.session import Session, Standing

if TYPE_CHECKING:
    from planner.placement.result import Progress

SIGNS = {
    Standing.PROVEN: ("✔", "good"),
    Standing.STOPPED: ("■", "doubt"),
    Standing.STALE: ("≈", "doubt"),
    Standing.NONE: ("…", "dim"),
    Standing.IMPOSSIBLE: ("✖", "bad"),
    Standing.FAILED: ("✖", "bad"),
}
UNITS = {"sound": "dB", "power": "W", "cost": "", "change": ""}


def listener_cells(session: Session) -> list[Cell]:
    """List each listener's level today and then, and whether its target is met."""
    if session.planned is None:
        return [Cell(item.name, "dim") for item in session.site.listeners]
    return [_listener(entry) for entry in session.planned.page.listeners]


def _listener(entry: ListenerEntry) -> Cell:
    text = f"{entry.listener} {number(entry.before_dba)} → {level(entry.after_dba)}"
    if entry.met is None:
        return Cell(f"{text}, no target")
    words = "✔ within" if entry.met else "✖ over"
    return Cell(f"{text} {words} {number(entry.target_dba)}", "good" if entry.met else "bad")


def sum_cells(session: Session, windows: int | None) -> list[Cell]:
    """List watts, money and windows of the plan at hand."""
    if session.planned is None:
        return []
    page = session.planned.page
    power = next(entry for entry in page.figures if entry.figure == "power, mean of the year")
    budget = session.site.policy.budget
    money = f"{number(page.payback.outlay)}{f' of {number(budget)}' if budget is not None else ''}"
    is_over = budget is not None and page.payback.outlay > budget
    return [
        Cell(f"{number(power.before)} → {number(power.after)} W"),
        Cell(f"{money} {page.currency}", "bad" if is_over else ""),
        Cell("… windows" if windows is None else plural(windows, "window")),
    ]


def trust_cell(session: Session) -> Cell:
    """Find the state of the plan by sign and word."""
    sign, style = SIGNS[session.standing]
    text = f"{sign} {session.standing}"
    if session.planned is not None and session.standing in (Standing.PROVEN, Standing.STOPPED):
        text += f" in {short(session.planned.seconds)} s"
        if session.standing is Standing.STOPPED and session.planned.plan.stopped_by:
            text += f" by {stopper(session.planned.plan.stopped_by)}"
    return Cell(text, style)


def running_cell(progress: Progress | None, seconds: float) -> Cell:
    """Find where a running solve stands: aim, best, bound, gap, time."""
    if progress is None:
        return Cell(f"◔ planning, {seconds:.0f} s", "doubt")
    unit = UNITS[progress.aim]
    best, bound = short(progress.best), short(progress.bound)
    parts = [f"◔ planning {progress.aim}", f"best {best} {unit}".strip(), f"bound {bound}"]
    if progress.best is not None and progress.bound is not None:
        parts.append(f"gap {short(max(0.0, progress.best - progress.bound))}")
    return Cell(", ".join([*parts, f"{seconds:.0f} s"]), "doubt")
