"""How loud the room is while the work goes on: the order's course beside that of the plainest order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC
from itertools import pairwise
from typing import TYPE_CHECKING

from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.moves.figures.evaluator import LimitEvaluator
from planner.moves.figures.loudness import loudness, reference_dba
from planner.moves.grid.evaluation import build_slots
from planner.moves.grid.monthly_budget import set_budgets
from planner.moves.grid.slots import WEEK_H, Slot
from planner.moves.grid.time_grid import TimeGrid
from planner.moves.grid.windows import Window, build_windows
from planner.moves.scheduling.initial_schedules import build_from_list
from planner.moves.scheduling.priority_rules import build_plain_list
from planner.moves.tasks.states import state_at
from planner.moves.tracking.order_in_use import wave_hours
from planner.report.common.figures import finite
from planner.report.moves.page import CurveEntry, OverTime, PointEntry

if TYPE_CHECKING:
    from planner.moves.tasks.wave import Order
    from planner.moves.tasks.work_packages import Work

SPARE_SLOTS = 160
"""How many windows beyond those of the order the plainest one may use."""


Stretch = list[tuple[float, State]]
"""States, each with the hour from which it holds."""


def over_time(site: Site, work: Work, order: Order) -> OverTime | None:
    """Compare an order of some work with the plainest one; None where there is nothing to do."""
    if not order.waves:
        return None
    slots, ends_h = _slots(site, order)
    before = state_at(work.change, work.past)
    chosen = [(0.0, before)]
    chosen += [(end_h, wave.state_after) for end_h, wave in zip(ends_h, order.waves, strict=True)]
    grid = TimeGrid(work, slots)
    at = build_from_list(grid, build_plain_list(work), LimitEvaluator(work))
    plain = None if at is None else _course(work, slots, grid.batches(at), before)
    ends = [course[-1][0] for course in (chosen, plain) if course]
    until_h = max(ends)
    reference = reference_dba(site)
    return OverTime(
        round(until_h, 2),
        _curve(site, chosen, until_h, reference),
        None if plain is None else _curve(site, plain, until_h, reference),
    )


def _course(work: Work, slots: Sequence[Slot], batches: Sequence[set[str]], before: State) -> Stretch:
    found = [(0.0, before)]
    done = set(work.past)
    for slot, batch in zip(slots, batches, strict=False):
        if batch:
            done |= {id_ for name in batch for id_ in work.block[name].ids}
            found.append((slot.end_h, state_at(work.change, done)))
    return found


def _slots(site: Site, order: Order) -> tuple[list[Slot], list[float]]:
    """Build all windows from the first wave on, used or not, and the hours at which the waves end."""
    own = [Window(w.start, w.end) for w in order.waves if w.start is not None and w.end is not None]
    if len(own) < len(order.waves):
        hours = wave_hours(site)
        count = len(order.waves) + SPARE_SLOTS
        weekly = [Slot(hours, n * WEEK_H, n * WEEK_H + hours) for n in range(count)]
        return weekly, [slot.end_h for slot in weekly[: len(order.waves)]]
    every = build_windows(site.windows, len(own) + SPARE_SLOTS, own[0].start.date())
    kept = [w for w in every if w not in own and not any(_meet(w, mine) for mine in own)]
    when = sorted((*own, *(w for w in kept if w.start > own[0].start)), key=lambda w: w.start.astimezone(UTC))
    slots = build_slots(when, site.windows.crew)
    return set_budgets(site, slots, when), [slots[when.index(mine)].end_h for mine in own]


def _meet(one: Window, other: Window) -> bool:
    return one.start < other.end and other.start < one.end


def _curve(site: Site, course: Stretch, until_h: float, reference: dict[str, float]) -> CurveEntry:
    books = [ledger(site, state) for _, state in course]
    hours = [hour for hour, _ in course]
    spans = [end - start for start, end in pairwise([*hours, until_h])]
    whole_h = math.fsum(spans)
    energies = {
        item.name: math.fsum(
            span * 10.0 ** (book.levels_dba[item.name] / 10.0)
            for span, book in zip(spans, books, strict=True)
        )
        for item in site.listeners
    }
    loud = [span * loudness(site, state, reference) for span, (_, state) in zip(spans, course, strict=True)]
    points = tuple(
        PointEntry(
            round(hour, 2),
            tuple((item.name, finite(book.levels_dba[item.name], 1)) for item in site.listeners),
            finite(book.mean_power_w, 1),
        )
        for hour, book in zip(hours, books, strict=True)
    )
    means = tuple((name, _level(energy / whole_h)) for name, energy in energies.items())
    return CurveEntry(len(course) - 1, points, means, round(math.fsum(loud) / whole_h, 4))


def _level(energy: float) -> float | None:
    return finite(10.0 * math.log10(energy), 1) if energy > 0.0 else None
