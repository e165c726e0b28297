"""Reads an order of moves back from what ``stillroom moves --json`` wrote, and a person may have changed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from planner.domain.order import Cycle, Figures, Task, WrittenOrder, WrittenWave, task_named
from planner.domain.site import Site
from planner.report.common.json_reader import PlanFileError, Reader, refuse_infinite
from planner.report.moves.page import FORMAT, VERSION

FIRST_YEAR, LAST_YEAR = 1970, 2999
"""Dates beyond these are mistakes, and some of them no clock can turn into another time zone."""


def read_order(site: Site, data: object) -> WrittenOrder:
    """Read an order, what is done of it included; PlanFileError says what is wrong with the file and where.

    Only its form is checked, and that the listeners and the services of rings are the site's: whether it can
    be carried out is for the judge to say.
    """
    refuse_infinite(data)
    top = Reader(data, "")
    if top.text("format") != FORMAT or top.whole("version") != VERSION:
        raise PlanFileError("format", f"this is no {FORMAT} file of version {VERSION}; write it with --json")
    page = top.inside("page")
    waves = (
        *(_done(item) for item in page.items("done")),
        *(_wave(site, item) for item in page.items("waves")),
    )
    services = site.service
    cycles = tuple(
        Cycle(
            tuple(item.names("services", services, "service")),
            tuple(item.names("moving", services, "service")),
            tuple(_pairs(site, item, "broken")),
        )
        for item in page.items("cycles")
    )
    return WrittenOrder(waves, cycles, tuple(_pairs(site, page, "given_up")))


def _pairs(site: Site, reader: Reader, key: str) -> Iterator[tuple[str, str]]:
    for item in reader.items(key):
        yield (
            item.name("consumer", site.service, "service"),
            item.name("provider", site.service, "service"),
        )


def _done(reader: Reader) -> WrittenWave:
    at = _moment(reader, "at")
    tasks = tuple(_task(reader, "tasks", name) for name in reader.texts("tasks"))
    return WrittenWave(
        reader.whole("number"), tasks, None if at is None else at - timedelta(hours=1), at, is_past=True
    )


def _wave(site: Site, reader: Reader) -> WrittenWave:
    tasks = tuple(_full_task(item) for item in reader.items("tasks"))
    start, end = _moment(reader, "start"), _moment(reader, "end")
    return WrittenWave(reader.whole("number"), tasks, start, end, _figures(site, reader))


def _full_task(reader: Reader) -> Task:
    bare = _task(reader, "task", reader.text("task"))
    hours, down_h = reader.figure("hours"), reader.figure("down_hours")
    return Task(
        bare.id,
        bare.sort,
        bare.subject,
        float("inf") if hours is None else hours,
        reader.text("text"),
        way_back_h=reader.figure("way_back_hours") or 0.0,
        down_h=float("inf") if down_h is None else down_h,
        goal=reader.text("goal"),
        method=reader.text("method"),
    )


def _task(reader: Reader, key: str, name: str) -> Task:
    try:
        sort, subject = task_named(name)
    except ValueError as error:
        raise PlanFileError(reader.path(key), str(error)) from None
    return Task(name, sort, subject, 0.0, name)


def _figures(site: Site, reader: Reader) -> Figures | None:
    """Give what a wave says of the room; None where some of it is unknown."""
    power_w, warmest_c = reader.figure("power_w"), reader.figure("warmest_c")
    if power_w is None or warmest_c is None:
        return None
    levels = dict(reader.levels("levels_dba", {item.name for item in site.listeners}))
    return Figures(levels, power_w, warmest_c, reader.whole("rack_u"))


def _moment(reader: Reader, key: str) -> datetime | None:
    if not reader.has(key):
        return None
    try:
        found = datetime.fromisoformat(reader.text(key))
    except ValueError:
        raise PlanFileError(
            reader.path(key), "expected a date with its time, such as 2027-03-06T08:00:00+01:00"
        ) from None
    if found.tzinfo is None:
        raise PlanFileError(reader.path(key), "this needs a time zone, such as +01:00 at its end")
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise PlanFileError(reader.path(key), f"expected a year from {FIRST_YEAR} to {LAST_YEAR}")
    return found
