"""Batches over dated windows: how they are checked and what they are worth."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from datetime import UTC

from planner.domain import practice
from planner.ledger import ledger
from planner.moves.figures.loudness import loudness, reference_dba
from planner.moves.grid.slots import Slot
from planner.moves.grid.windows import Window
from planner.moves.tasks.limits import Strain
from planner.moves.tasks.states import state_at
from planner.moves.tasks.wave import baseline, steps, worst_strains
from planner.moves.tasks.work_packages import Work

TAIL_H = 168.0
"""Hours after the last window that count for the level over time."""


def build_slots(windows: Sequence[Window], crew: int) -> list[Slot]:
    """Build windows as slots, in hours from the first one's start."""
    if not windows:
        return []
    zero = windows[0].start.astimezone(UTC)

    def since(window: Window) -> float:
        return (window.start.astimezone(UTC) - zero).total_seconds() / 3600.0

    return [Slot(w.hours, since(w), since(w) + w.hours, crew) for w in windows]


def compute_spans_h(slots: Sequence[Slot]) -> list[float]:
    """Compute for each slot the hours from its end to the next one's end: how long its state lasts."""
    ends = [slot.end_h for slot in slots]
    return [later - end for end, later in zip(ends, [*ends[1:], ends[-1] + TAIL_H], strict=True)]


@dataclass(frozen=True)
class Evaluation:
    """What a schedule is worth: mean level energy, mean watts, most critical moves at once.

    ``windows`` are those until all is done: one that passes unused counts, for it is a day of noise too.
    """

    windows: int
    loudness: float
    power_w: float
    critical: int


def evaluate(work: Work, slots: Sequence[Slot], batches: Sequence[Set[str]]) -> Evaluation:
    """Add up a schedule from its states; nothing is read from a solver."""
    site, reference = work.change.site, reference_dba(work.change.site)
    spans = compute_spans_h(slots)
    done = set(work.past)
    loud, watts, heard = 0.0, 0.0, (0.0, 0.0)
    for index, span in enumerate(spans):
        batch = batches[index] if index < len(batches) else set()
        if batch or not index:
            done |= {id_ for name in batch for id_ in work.block[name].ids}
            state = state_at(work.change, done)
            heard = loudness(site, state, reference), ledger(site, state).mean_power_w
        loud += span * heard[0]
        watts += span * heard[1]
    total_h = sum(spans)
    most = max((sum(count_critical(work, name) for name in batch) for batch in batches), default=0)
    last = max((index for index, batch in enumerate(batches) if batch), default=-1)
    return Evaluation(last + 1, loud / total_h, watts / total_h, most)


def count_critical(work: Work, name: str) -> int:
    """Count the critical services that a block moves."""
    site = work.change.site
    wanted = {other for service in site.services for other in service.depends_on}
    return sum(
        bool(site.service[s].roles & practice.CRITICAL_ROLES)
        or s in wanted
        or site.service[s].downtime_min is not None
        for s in work.block[name].moves
    )


def find_strains(work: Work, batches: Sequence[Set[str]]) -> list[tuple[int, tuple[Strain, ...]]]:
    """Find the windows in which a step passes a limit beyond today and the target, with what it passes."""
    found = []
    base = baseline(work)
    done = set(work.past)
    for index, batch in enumerate(batches):
        if batch:
            over = worst_strains(work, steps(work, frozenset(done), batch), base)
            if over:
                found.append((index, over))
            done |= {id_ for name in batch for id_ in work.block[name].ids}
    return found
