"""One line that says how far a solve has come."""

from __future__ import annotations

import math

from planner.report.common.figures import short
from planner.report.common.text import WIDTH


def progress_text(aim: str, best: float | None, bound: float | None, seconds: float) -> str:
    """Write aim, best value, bound, gap and seconds in one line that never wraps."""
    if not aim:
        return f"solving, {seconds:.0f} s"
    known = best is not None and bound is not None and math.isfinite(best) and math.isfinite(bound)
    gap = short(max(0.0, best - bound)) if known and best is not None and bound is not None else "?"
    words = f"{aim}: best {_or_unknown(best)}, bound {_or_unknown(bound)}, gap {gap}, {seconds:.0f} s"
    return words[: WIDTH - 1]


def _or_unknown(value: float | None) -> str:
    return "?" if value is None or not math.isfinite(value) else short(value)
