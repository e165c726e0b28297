"""Orders where the scheduler finds none: any one that the judge passes, by exhaustive search, packed."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from planner.domain.order import WrittenWave
from planner.domain.practice import WAVE_HOURS, WINDOW_HABIT
from planner.domain.rules import Windows
from planner.moves.exhaustive.any_order import UNBOUND, AnyOrder, SearchEnd
from planner.moves.exhaustive.next_fit import NextFit
from planner.moves.grid.monthly_budget import compute_spent_by_month
from planner.moves.grid.windows import Window
from planner.moves.tasks.progress import Progress
from planner.moves.tasks.wave import Dates, Order, build_listed_order
from planner.moves.tasks.work_packages import Work

MOST_TOLD = 5
NOT_BETTERED = (
    "This order was found by trying step after step: it keeps every limit on the way, but fewer windows or "
    "an earlier quiet were not sought."
)


SHORTENED = (
    "an order asks for a longer window than any of those looked at, which are shortened by days left out or "
    "by each other: leave fewer days out."
)
SAME_H = 1e-6


@dataclass(frozen=True)
class Fallback:
    """An order that the judge passes, or none; ``is_proof``: then none exists.

    ``reason`` says why a search that came to its end has no order and proves nothing either.
    """

    order: Order | None
    is_proof: bool = False
    reason: str = ""


def search_any_order(
    work: Work,
    past: Sequence[WrittenWave],
    progress: Progress,
    windows: Sequence[Window] | None,
    until: float,
    cancel: threading.Event | None = None,
) -> Fallback:
    """Search any order of what is left; ``windows`` is None for waves without dates."""
    rules, done = work.change.site.windows, frozenset(progress.done)
    most_h = max((window.hours for window in windows), default=0.0) if windows is not None else UNBOUND
    search = AnyOrder(work, past, done, most_h, most_h * rules.crew, until, cancel)
    found = search.search()
    if found.steps is None:
        return _none(search, found, rules if windows is not None else None)
    hours = max((item.hours for item in rules.recurring), default=WAVE_HOURS)
    packing = NextFit(
        search.simulate_past(found.given_up),
        past,
        windows,
        hours if windows is None else most_h,
        1 if windows is None else rules.crew,
        work.change.site.policy.monthly_budget,
        compute_spent_by_month(work, progress.done),
        progress.not_before,
    )
    waves = packing.pack(found.steps)
    if waves is None:
        return Fallback(None, reason=_do_not_fit(work, windows))
    dates = [Dates(wave.start, wave.end) for wave in waves if wave.start is not None and wave.end is not None]
    order = build_listed_order(
        work,
        [wave.tasks for wave in waves],
        dates if windows is not None else None,
        notes=(NOT_BETTERED, *list_wishes_given_up(work, waves, done)),
        first=len(past) + 1,
        done=done,
    )
    return Fallback(order)


def _none(search: AnyOrder, found: SearchEnd, rules: Windows | None) -> Fallback:
    """Say whether a search without an order is a proof: not where its windows are shorter than others are.

    Days left out and windows that overlap shorten windows; after those looked at come longer ones.
    """
    if not found.is_proof or rules is None:
        return Fallback(None, found.is_proof, found.reason)
    longest_h = max(item.hours for item in rules.recurring or WINDOW_HABIT)
    if longest_h <= search.most_h + SAME_H:
        return Fallback(None, is_proof=True)
    wider = replace(search, most_h=longest_h, crew_h=longest_h * rules.crew).search()
    if wider.steps is None:
        return Fallback(None, wider.is_proof, wider.reason)
    return Fallback(None, reason=SHORTENED)


def _do_not_fit(work: Work, windows: Sequence[Window] | None) -> str:
    """Say that waves do not fit the windows, and what would help."""
    if not windows:
        return "an order can be found, but not its waves."
    count = "only window" if len(windows) == 1 else f"{len(windows)} windows"
    until = f"the {count} until {windows[-1].end:%Y-%m-%d}"
    words = f"an order without dates was found, but its waves do not fit {until}"
    if work.change.site.policy.monthly_budget is None:
        return f"{words}: give more windows, or longer ones."
    return f"{words} and the money of each month: give more windows, longer ones, or more money a month."


def list_wishes_given_up(work: Work, waves: Sequence[WrittenWave], done: frozenset[str]) -> Iterator[str]:
    """Say which good practice an order does not keep, the first few of it."""
    place: Mapping[str, tuple[int, int]] = {
        task.id: (wave.number, number) for wave in waves for number, task in enumerate(wave.tasks)
    }
    broken = [
        link
        for link in work.links
        if link.wish and link.after in place and link.before not in done and link.before in place
        if place[link.before] > place[link.after]
    ]
    for link in broken[:MOST_TOLD]:
        yield (
            f"Against good practice ({link.because}) '{link.after}' comes before '{link.before}': no order "
            "was found that keeps all good practice."
        )
    if len(broken) > MOST_TOLD:
        yield f"{len(broken) - MOST_TOLD} more rules of good practice are not kept."
