"""The order of the moves as data: waves with their tasks, checks, way back, and the ledger after each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final, Literal

from planner.domain.conflict import Conflict
from planner.domain.hazards import TEXTS, hazard_of
from planner.domain.site import Site
from planner.ledger import Ledger, today_ledger
from planner.report.common.entries import CautionEntry
from planner.report.common.figures import finite
from planner.report.common.json_data import Document
from planner.report.plan.build import NOTE
from planner.report.readings.page import ReadingEntry

if TYPE_CHECKING:
    from planner.domain.order import Task
    from planner.moves.tasks.wave import Order, Wave

FORMAT: Final = "stillroom.moves"
VERSION: Final = 2


@dataclass(frozen=True)
class TaskEntry:
    """One step: hours of attended work, of its way back, and for how long a service is down.

    ``goal`` is the machine that a service moves to, ``method`` how; both are empty for other tasks.
    ``done_when`` must hold once it is done, ``price`` is the money it spends.
    """

    task: str
    sort: str
    subject: str
    text: str
    hours: float
    way_back_hours: float
    down_hours: float | None
    goal: str
    method: str
    done_when: tuple[str, ...]
    price: float


@dataclass(frozen=True)
class WaveEntry:
    """One maintenance window; the last figures are those of the room once it is done.

    ``breaches`` are limits that a step of it passes. ``levels_dba`` is by listener, ``warmest_c`` the
    warmest season. ``start``, ``end`` and ``rollback_deadline`` are null where the order has no dates.
    """

    number: int
    name: str
    moves: tuple[str, ...]
    hours: float
    way_back_hours: float
    rollback_days: int
    tasks: tuple[TaskEntry, ...]
    go_no_go: tuple[str, ...]
    rollback: tuple[str, ...]
    cautions: tuple[str, ...]
    breaches: tuple[str, ...]
    levels_dba: tuple[tuple[str, float | None], ...]
    power_w: float | None
    warmest_c: float | None
    rack_u: int
    start: str | None
    end: str | None
    rollback_deadline: str | None


@dataclass(frozen=True)
class PairEntry:
    """A service and what it depends on, where the one moves before the other."""

    consumer: str
    provider: str


@dataclass(frozen=True)
class CycleEntry:
    """Services that depend on each other in a ring, those that move, and what to do about it.

    ``broken`` are dependencies whose order is not kept.
    """

    services: tuple[str, ...]
    moving: tuple[str, ...]
    broken: tuple[PairEntry, ...]
    text: str


@dataclass(frozen=True)
class AimEntry:
    """What the schedule reached for an aim, and the bound proven for it (null: none), by which method."""

    aim: str
    value: float | None
    bound: float | None
    proven: bool
    bound_by: str


@dataclass(frozen=True)
class ScheduleEntry:
    """How good the order is proven on its dates; ``ways_out`` of what stands in the way of one,
    which ``conflicts`` say as data as far as they are of limits.

    ``stopped_by`` is what ended a search that proved nothing, '' for none.
    """

    outcome: str
    aims: tuple[AimEntry, ...]
    ways_out: tuple[str, ...]
    conflicts: tuple[Conflict, ...] = ()
    stopped_by: str = ""


@dataclass(frozen=True)
class DoneEntry:
    """A wave that stands: its number, what it moved, its tasks by id, and when it was over."""

    number: int
    moves: tuple[str, ...]
    tasks: tuple[str, ...]
    at: str


@dataclass(frozen=True)
class PointEntry:
    """The room from an hour on, counted from the first window's start, until the next point."""

    hours: float
    levels_dba: tuple[tuple[str, float | None], ...]
    power_w: float | None


@dataclass(frozen=True)
class CurveEntry:
    """The course of an order; the means are over the whole time, those of levels by energy.

    ``mean_loudness`` is the energy over the listeners' targets, summed: what the order makes small.
    """

    windows: int
    points: tuple[PointEntry, ...]
    mean_dba: tuple[tuple[str, float | None], ...]
    mean_loudness: float


@dataclass(frozen=True)
class OverTime:
    """The course until all is done, ``hours`` after the first window's start; without dates a window a week.

    ``plain`` does the same work in plain topological order, in any window from the first wave on, within
    the limits. None where it finds no room.
    """

    hours: float
    chosen: CurveEntry
    plain: CurveEntry | None


@dataclass(frozen=True)
class MovesPage:
    """The whole order that is left; ``cautions`` are those of its waves, said once.

    ``done`` are the waves that stand already, ``given_up`` dependencies whose order is not kept.
    ``schedule`` is null for waves that nothing was proven about, ``timezone`` for waves without dates.
    """

    site: str
    plan_outcome: str
    waves: tuple[WaveEntry, ...]
    hours: float
    levels_today_dba: tuple[tuple[str, float | None], ...]
    power_today_w: float | None
    cycles: tuple[CycleEntry, ...]
    given_up: tuple[PairEntry, ...]
    breaches: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[CautionEntry, ...]
    note: str
    timezone: str | None = None
    done: tuple[DoneEntry, ...] = ()
    readings: tuple[ReadingEntry, ...] = ()
    schedule: ScheduleEntry | None = None
    over_time: OverTime | None = None


def moves_page(site: Site, outcome: str, order: Order) -> MovesPage:
    """Build the page of an order of moves."""
    today = today_ledger(site)
    rings = {cycle.text for cycle in order.cycles}
    return MovesPage(
        site=site.name,
        plan_outcome=outcome,
        waves=tuple(_wave(site, wave) for wave in order.waves),
        hours=round(sum(wave.hours for wave in order.waves), 2),
        levels_today_dba=_levels(site, today),
        power_today_w=finite(today.mean_power_w, 1),
        cycles=tuple(
            CycleEntry(cycle.services, cycle.moving, _pairs(cycle.broken), cycle.text)
            for cycle in order.cycles
        ),
        given_up=_pairs(order.given_up),
        breaches=tuple(order.breaches),
        notes=tuple(text for text in order.notes if text not in rings),
        cautions=_cautions(order.waves),
        note=NOTE,
        timezone=site.windows.timezone if any(wave.start is not None for wave in order.waves) else None,
    )


@dataclass(frozen=True, kw_only=True)
class MovesDocument(Document):
    """What 'stillroom moves --json' writes: the waves, and what they break on the way."""

    format: Literal["stillroom.moves"] = FORMAT
    version: Literal[2] = VERSION
    page: MovesPage


def _pairs(edges: Iterable[tuple[str, str]]) -> tuple[PairEntry, ...]:
    return tuple(PairEntry(consumer, provider) for consumer, provider in edges)


def _levels(site: Site, book: Ledger) -> tuple[tuple[str, float | None], ...]:
    return tuple((item.name, finite(book.levels_dba[item.name], 1)) for item in site.listeners)


def _wave(site: Site, wave: Wave) -> WaveEntry:
    return WaveEntry(
        number=wave.number,
        name=wave.name,
        moves=tuple(wave.moves),
        hours=round(wave.hours, 2),
        way_back_hours=round(wave.way_back_h, 2),
        rollback_days=wave.rollback_days,
        tasks=tuple(_task(task) for task in wave.tasks),
        go_no_go=tuple(wave.go_no_go),
        rollback=tuple(wave.rollback),
        cautions=tuple(dict.fromkeys(hazard_of(words) or words for words in wave.cautions)),
        breaches=tuple(wave.breaches),
        levels_dba=_levels(site, wave.ledger),
        power_w=finite(wave.ledger.mean_power_w, 1),
        warmest_c=finite(max((entry.temperature_c for entry in wave.ledger.seasons), default=0.0), 1),
        rack_u=wave.rack_u,
        start=_iso(wave.start),
        end=_iso(wave.end),
        rollback_deadline=_iso(wave.rollback_deadline),
    )


def _iso(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat()


def _task(task: Task) -> TaskEntry:
    return TaskEntry(
        task=task.id,
        sort=str(task.sort),
        subject=task.subject,
        text=task.text,
        hours=round(task.hours, 2),
        way_back_hours=round(task.way_back_h, 2),
        down_hours=finite(task.down_h, 2),
        goal=task.goal,
        method=task.method,
        done_when=task.done_when,
        price=task.price,
    )


def _cautions(waves: Iterable[Wave]) -> tuple[CautionEntry, ...]:
    """List each caution once, with the waves that it belongs to."""
    found: dict[str, list[str]] = {}
    for wave in waves:
        for words in wave.cautions:
            where = found.setdefault(hazard_of(words) or words, [])
            if f"wave {wave.number}" not in where:
                where.append(f"wave {wave.number}")
    return tuple(CautionEntry(name, TEXTS.get(name, name), tuple(where)) for name, where in found.items())
