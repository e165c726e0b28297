"""The plan: what changed, then all that the command prints of it; or why there is none."""

from __future__ import annotations

from planner.report.common.text import Line, heading, line, paragraph
from planner.report.plan.text import plan_lines
from tui.session import Session, Standing
from tui.views.compare import change_lines


def plan_place_lines(session: Session) -> list[Line]:
    """Set the place."""
    lines: list[Line] = []
    if session.standing in (Standing.IMPOSSIBLE, Standing.FAILED):
        lines += _reasons(session)
    planned = session.planned
    if planned is None:
        return lines or [line("no plan yet", "dim")]
    if session.standing not in (Standing.PROVEN, Standing.STOPPED):
        lines.append(line("≈ the plan below is from before the last edit", "doubt"))
    lines += change_lines("Changed against the plan held", session.pinned, planned)
    lines += change_lines("Changed against the plan before", session.previous, planned)
    return [*lines, *([line()] if lines else []), *plan_lines(planned.page, _peaks(session))]


def _peaks(session: Session) -> list[Line]:
    """Set what it saves that peaks do not coincide, once that is worked out."""
    if session.afterwork is None or session.afterwork.peaks is None:
        return []
    # Here, for it knows the solver, and a screen without a plan need not wait for that.
    from planner.report.plan.peaks import peaks_lines

    return peaks_lines(session.afterwork.peaks)


def _reasons(session: Session) -> list[Line]:
    lines = [line(f"✖ {session.standing}", "bad")]
    for number, reason in enumerate(session.reasons, start=1):
        lines += paragraph(f"{number}. {reason}", hang="   ")
    if session.standing is Standing.IMPOSSIBLE:
        lines += paragraph("k goes to what would have to give way", style="dim")
    return [*lines, *heading("The plan from before")] if session.planned is not None else lines
