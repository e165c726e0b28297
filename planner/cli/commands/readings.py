"""What a person has read after a wave, ``--reading`` and its like: checked, and put into the progress."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

import click

from planner.cli.errors import RefusedError
from planner.domain.site import Site
from planner.inventory.text.nearest import nearest
from planner.moves.tasks.readings import Reading
from planner.moves.tracking.order_in_use import OrderInUse

OPTIONS: tuple[Callable[[Any], Any], ...] = (
    click.option("--reading", type=click.IntRange(min=0), metavar="N", help="Read after wave N (0: today)."),
    click.option("--dba", multiple=True, metavar="[WHO=]DBA", help="The level there, in dBA, slow."),
    click.option("--watts", type=float, metavar="W", help="What the room draws at the wall."),
    click.option("--celsius", type=float, metavar="C", help="What the machines breathe, in °C."),
    click.option("--season", default="", metavar="NAME", help="The season it was read in."),
    click.option("--around", type=float, metavar="C", help="Temperature round the room then, in °C."),
    click.option("--background", type=float, metavar="DBA", help="Level with the room's machines off."),
)
RANGES = {
    "dba": (0.0, 140.0, "dBA"),
    "watts": (0.0, 1_000_000.0, "W"),
    "celsius": (-30.0, 80.0, "°C"),
    "around": (-40.0, 60.0, "°C"),
    "background": (0.0, 140.0, "dBA"),
}


@dataclass(frozen=True)
class Read:
    """A reading after the wave of a number, its tasks not yet looked up."""

    number: int
    reading: Reading


def read_of(site: Site, asked: dict[str, Any]) -> Read | None:
    """Find what was read; None for nothing. RefusedError for figures that cannot be, or of no wave."""
    number, watts, celsius = asked["reading"], asked["watts"], asked["celsius"]
    given = [
        key for key in ("dba", "watts", "celsius", "around", "background", "season") if _is_given(asked[key])
    ]
    if number is None:
        if given:
            raise RefusedError(
                f"--{given[0]} belongs to a reading: say after which wave, such as --reading 3"
            )
        return None
    if not asked["dba"] and watts is None and celsius is None:
        raise RefusedError("--reading has nothing read: give --dba, --watts or --celsius with it")
    for key in ("watts", "celsius", "around", "background"):
        if asked[key] is not None:
            _within(key, asked[key])
    season = asked["season"]
    if season:
        _refuse_unknown(season, [item.name for item in site.seasons], "season")
    now = datetime.now(UTC).replace(microsecond=0)
    reading = Reading(number, (), now, _levels(site, asked["dba"]), watts, celsius, season)
    conditions = replace(reading, around_c=asked["around"], background_dba=asked["background"])
    return Read(number, replace(conditions, note=asked["note"]))


def _is_given(value: object) -> bool:
    return value not in (None, "", ())


def _levels(site: Site, said: Sequence[str]) -> tuple[tuple[str, float], ...]:
    names = [item.name for item in site.listeners]
    found: dict[str, float] = {}
    for text in said:
        who, equals, level = text.rpartition("=")
        if not equals and len(names) != 1:
            raise RefusedError(
                f"--dba {text}: say where, such as --dba {names[0] if names else 'desk'}={text}"
            )
        name = who or names[0]
        _refuse_unknown(name, names, "listener")
        found[name] = _number(text, level)
    return tuple(found.items())


def _number(text: str, level: str) -> float:
    try:
        value = float(level)
    except ValueError:
        raise RefusedError(f"--dba {text}: {level!r} is no number of dBA") from None
    return _within("dba", value)


def _within(key: str, value: float) -> float:
    low, high, unit = RANGES[key]
    if not (math.isfinite(value) and low <= value <= high):
        raise RefusedError(f"--{key} {value:g}: expected {low:g} to {high:g} {unit}")
    return value


def _refuse_unknown(name: str, known: Collection[str], sort: str) -> None:
    if name not in known:
        near = nearest(name, known)
        hint = f"; did you mean {near!r}?" if near is not None else f"; there are: {', '.join(known)}"
        raise RefusedError(f"the inventory has no {sort} called {name!r}{hint}")


def with_reading(course: OrderInUse, said: Read) -> OrderInUse:
    """Find the course with what was read; RefusedError for a wave that does not stand."""
    standing = course.progress.standing
    if said.number > len(standing):
        mark = f"--done {said.number}"
        raise RefusedError(
            f"wave {said.number} is not done; mark it with {mark}, which may go with a reading"
        )
    tasks = standing[said.number - 1].tasks if said.number else ()
    return replace(course, progress=course.progress.with_reading(replace(said.reading, tasks=tasks)))
