"""Orders without a solver: built in several ways, of which the best by the schedule's own aims is taken.

Why so: orders are built quiet first by loudness saved for an hour of work, one box after the other, and
plain topological. Then blocks change places while it gets quieter (`exchange_search`), and the solver
starts from there. Without dates nothing is timed, so that the same file gives the same waves.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Mapping, Sequence

from planner.domain import practice
from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.figures.evaluator import LimitEvaluator
from planner.moves.grid.evaluation import evaluate, find_strains
from planner.moves.grid.slots import Slot
from planner.moves.scheduling.exchange_search import polished
from planner.moves.scheduling.list_scheduling import from_list, plain_list, quiet_list
from planner.moves.scheduling.wave_building import built, weekly
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.wave import Order, build_order
from planner.moves.tasks.work_packages import Work, work_of

Batches = list[set[str]]


def best_built(
    work: Work, slots: Sequence[Slot], ready_h: Mapping[str, float], until: float = math.inf
) -> Batches | None:
    """Give the batches of fewest windows, then least noise over time; None when no way of building works.

    ``until``: once something is found, nothing is made better after this moment of the monotonic clock.
    """
    if not work.blocks:
        return []
    found: list[Batches] = []
    meter = LimitEvaluator(work)
    for way in _ways(work, slots, ready_h, meter):
        if found and time.monotonic() > until:
            break
        batches = way()
        if sum(map(len, batches)) == len(work.blocks) and not find_strains(work, batches):
            found.append(batches)
    last = max(map(len, found), default=0)

    def price(batches: Batches) -> tuple[int, float]:
        known = evaluate(work, slots[:last], batches)
        return known.windows, known.loudness

    best = min(found, key=price, default=None)
    return None if best is None else polished(work, slots[: len(best)], best, ready_h, until, meter)


def _ways(
    work: Work, slots: Sequence[Slot], ready_h: Mapping[str, float], meter: LimitEvaluator
) -> Iterator[Callable[[], Batches]]:
    yield lambda: from_list(work, slots, quiet_list(work), ready_h, meter)
    yield lambda: built(work, slots, force=False, ready_h=ready_h, lazy=True, meter=meter)
    yield lambda: from_list(work, slots, plain_list(work), ready_h, meter)
    yield lambda: built(work, slots, force=False, ready_h=ready_h, meter=meter)


def order(site: Site, state: State, *, hours: float = practice.WAVE_HOURS) -> Order:
    """Give the waves that lead from a site today to a state, one crew, ``hours`` a wave with the way back.

    Raises KeyError when the state does not carry a service of the site.
    """
    return in_weeks(work_of(Change(site, state)), hours=hours)


def in_weeks(work: Work, *, hours: float = practice.WAVE_HOURS, first: int = 1) -> Order:
    """Give the waves of a work without dates from wave ``first`` on; some limits passed where it must be."""
    slots, notes = weekly(work, hours), _too_long(work, hours)
    batches = best_built(work, slots, {})
    if batches is not None:
        return build_order(work, batches, notes=notes, first=first)
    forced = (built(work, slots, force=True, lazy=lazy) for lazy in (False, True))
    orders = [build_order(work, each, notes=notes, first=first) for each in forced]
    return min(orders, key=lambda found: len(found.breaches))


def _too_long(work: Work, hours: float) -> tuple[str, ...]:
    return tuple(
        f"'{block.name}' takes {block.hours:.1f} h with its way back, longer than a wave of {hours:.0f} h: "
        "lengthen the window" + (", or replicate beforehand." if block.moves else ".")
        for block in work.blocks
        if block.hours > hours + 1e-9
    )
