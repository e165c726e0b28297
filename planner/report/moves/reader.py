"""Reads an order of moves back from what ``stillroom moves --json`` wrote, and a person may have changed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Strict, StrictFloat, StrictInt

from planner.domain.order import Cycle, Figures, Task, WrittenOrder, WrittenWave, task_named
from planner.domain.site import Site
from planner.report.common.json_data import ListenerName, ServiceName, check_head, read_as
from planner.report.moves.page import FORMAT, VERSION

FIRST_YEAR, LAST_YEAR = 1970, 2999
"""Dates beyond these are mistakes, and some of them no clock can turn into another time zone."""


def _check_task(name: str) -> str:
    task_named(name)
    return name


def _parse_moment(value: Any) -> Any:
    """Parse a date with its time and zone; what is no text is left to the type."""
    if not isinstance(value, str):
        return value
    try:
        found = datetime.fromisoformat(value)
    except ValueError:
        raise ValueError("expected a date with its time, such as 2027-03-06T08:00:00+01:00") from None
    if found.tzinfo is None:
        raise ValueError("this needs a time zone, such as +01:00 at its end")
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError(f"expected a year from {FIRST_YEAR} to {LAST_YEAR}")
    return found


def _check_pair(value: Any) -> Any:
    if not isinstance(value, list) or len(value) != 2 or not isinstance(value[0], str):
        raise ValueError("expected a listener and a level, such as ['desk', 41.5]")
    return value


TaskName = Annotated[str, AfterValidator(_check_task)]
Moment = Annotated[datetime, Strict(), BeforeValidator(_parse_moment)]
Heard = Annotated[tuple[ListenerName, StrictFloat | None], BeforeValidator(_check_pair)]


@dataclass(frozen=True)
class _Done:
    number: StrictInt
    tasks: tuple[TaskName, ...]
    at: Moment | None = None


@dataclass(frozen=True)
class _Task:
    task: TaskName
    hours: StrictFloat | None
    down_hours: StrictFloat | None
    way_back_hours: StrictFloat | None
    text: str
    goal: str
    method: str


@dataclass(frozen=True)
class _Wave:
    number: StrictInt
    tasks: tuple[_Task, ...]
    power_w: StrictFloat | None
    warmest_c: StrictFloat | None
    levels_dba: tuple[Heard, ...]
    rack_u: StrictInt
    start: Moment | None = None
    end: Moment | None = None


@dataclass(frozen=True)
class _Pair:
    consumer: ServiceName
    provider: ServiceName


@dataclass(frozen=True)
class _Cycle:
    services: tuple[ServiceName, ...]
    moving: tuple[ServiceName, ...]
    broken: tuple[_Pair, ...]


@dataclass(frozen=True)
class _Page:
    done: tuple[_Done, ...]
    waves: tuple[_Wave, ...]
    cycles: tuple[_Cycle, ...]
    given_up: tuple[_Pair, ...]


@dataclass(frozen=True)
class _Order:
    """What is read of an order of moves."""

    page: _Page


def read_order(site: Site, data: object) -> WrittenOrder:
    """Read an order, what is done of it included; PlanFileError says what is wrong with the file and where.

    Only its form is checked, and that the listeners and the services of rings are the site's: whether it can
    be carried out is for the judge to say.
    """
    check_head(data, FORMAT, VERSION, "write it with --json")
    page = read_as(_Order, data, site).page
    cycles = tuple(Cycle(item.services, item.moving, _pairs(item.broken)) for item in page.cycles)
    waves = (*map(_past_wave, page.done), *map(_planned_wave, page.waves))
    return WrittenOrder(waves, cycles, _pairs(page.given_up))


def _pairs(items: Iterable[_Pair]) -> tuple[tuple[str, str], ...]:
    return tuple((item.consumer, item.provider) for item in items)


def _past_wave(item: _Done) -> WrittenWave:
    tasks = tuple(Task(name, *task_named(name), 0.0, name) for name in item.tasks)
    start = None if item.at is None else item.at - timedelta(hours=1)
    return WrittenWave(item.number, tasks, start, item.at, is_past=True)


def _planned_wave(item: _Wave) -> WrittenWave:
    tasks = tuple(_task(each) for each in item.tasks)
    return WrittenWave(item.number, tasks, item.start, item.end, _figures(item))


def _task(item: _Task) -> Task:
    sort, subject = task_named(item.task)
    return Task(
        item.task,
        sort,
        subject,
        math.inf if item.hours is None else item.hours,
        item.text,
        way_back_h=item.way_back_hours or 0.0,
        down_h=math.inf if item.down_hours is None else item.down_hours,
        goal=item.goal,
        method=item.method,
    )


def _figures(item: _Wave) -> Figures | None:
    """Look up what a wave says of the room; None where some of it is unknown."""
    if item.power_w is None or item.warmest_c is None:
        return None
    levels = {name: level_dba for name, level_dba in item.levels_dba if level_dba is not None}
    return Figures(levels, item.power_w, item.warmest_c, item.rack_u)
