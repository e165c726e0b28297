"""Money by month: what is left to spend in the month of each window, and what no month can pay.

Why so: a month pays for what begins in it (``policy.monthly_budget``); waves without dates ask for no
month.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import replace
from datetime import datetime, timedelta

from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.site import Site
from planner.moves.grid.slots import CENT, Slot
from planner.moves.grid.windows import Window, zone_of
from planner.moves.tasks.work_packages import Work

AN_HOUR = timedelta(hours=1)


def month_of(moment: datetime) -> int:
    """Compute the months from the year 0 to a moment, by its own clock."""
    return 12 * moment.year + moment.month


def set_budgets(
    site: Site, slots: Sequence[Slot], windows: Sequence[Window], spent: Mapping[int, float] | None = None
) -> list[Slot]:
    """Build slots with the month of each window and what is left in it; ``spent`` is by month already."""
    monthly = site.policy.monthly_budget
    if monthly is None:
        return list(slots)
    gone = spent or {}
    months = [month_of(window.start) for window in windows]
    return [
        replace(slot, month=month, money=max(0.0, monthly - gone.get(month, 0.0)))
        for slot, month in zip(slots, months, strict=True)
    ]


def compute_spent_by_month(work: Work, done: Mapping[str, datetime]) -> dict[int, float]:
    """Compute what the tasks done have cost, by the month, in the site's time zone, in which they were begun.

    A wave that stands is taken to have begun an hour before it was over.
    """
    zone = zone_of(work.change.site.windows)
    found: dict[int, float] = {}
    for id_, at in done.items():
        if id_ in work.tasks:
            month = month_of((at - AN_HOUR).astimezone(zone))
            found[month] = found.get(month, 0.0) + work.tasks[id_].price
    return found


def find_too_dear(work: Work, done: Set[str]) -> Iterator[Conflict]:
    """Find the tasks left that cost more by themselves than a month has.

    No order spends less in the month in which such a task is begun.
    """
    for task in (task for block in work.blocks for task in block.tasks):
        if task.id not in done and _is_too_much(work, task.price):
            yield _dear(work, (task.id,), task.price)


def find_dear_together(work: Work) -> Iterator[Conflict]:
    """Find blocks that cost more than a month has, none of whose tasks does: some order may part them."""
    for name, price in work.prices.items():
        if _is_too_much(work, price) and not any(_is_too_much(work, t.price) for t in work.block[name].tasks):
            yield _dear(work, (name, *(id_ for id_ in work.block[name].ids if id_ != name)), price)


def _is_too_much(work: Work, price: float) -> bool:
    monthly = work.change.site.policy.monthly_budget
    return monthly is not None and price > monthly + CENT


def _dear(work: Work, tasks: tuple[str, ...], price: float) -> Conflict:
    monthly, currency = work.change.site.policy.monthly_budget or 0.0, work.change.site.currency
    return Conflict(
        Rule.MONTHLY_BUDGET,
        tasks,
        amount=price - monthly,
        unit=currency,
        there=monthly,
        shown=Shown.ON_THE_WAY,
    )
