"""Maintenance windows to the domain."""

from __future__ import annotations

from planner.domain.rules import Recurring, Windows
from planner.inventory.models.windows import WindowsModel
from planner.inventory.resolve.recorder import Recorder

HABIT = "saturday 08:00 for 6 h, wednesday 19:00 for 3 h"
"""What the moves take where no window is given, in words."""


def resolve_windows(model: WindowsModel, recorder: Recorder) -> Windows:
    """Make the windows; without any, the moves take the trade's habit."""
    take = recorder.take
    if not model.weekly:
        recorder.note("windows.weekly", HABIT, "trade habit: outside office hours")
    return Windows(
        timezone=take(model.timezone, "UTC", "windows.timezone", "UTC", "write yours, such as Europe/Vienna"),
        recurring=tuple(Recurring(item.weekday, item.start, item.hours) for item in model.weekly),
        blackouts=model.blackouts,
        start_date=model.start_date,
        crew=take(model.crew, 1, "windows.crew", "1", "one practitioner"),
    )
