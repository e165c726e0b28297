"""The progress of an order as a small file beside the inventory."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import yaml

from planner.files import put
from planner.moves.progress import Booked, Entry, Mark, Progress
from planner.moves.readings import Reading

FORMAT = "stillroom.progress"
VERSION = 1
SUFFIX = ".progress.yaml"
Item = TypeVar("Item")


class ProgressError(ValueError):
    """A progress file that cannot be read; the message names the file, the place and the repair."""


def path_beside(inventory: Path) -> Path:
    """Give where the progress of an inventory is kept."""
    return inventory.with_name(inventory.stem + SUFFIX)


def dump(progress: Progress) -> str:
    """Give the text of a progress file."""
    entries = [
        {
            "wave": entry.wave,
            "mark": entry.mark.value,
            "at": entry.at.astimezone(UTC).isoformat(),
            "tasks": list(entry.tasks),
            **({"note": entry.note} if entry.note else {}),
        }
        for entry in progress.entries
    ]
    page: dict[str, Any] = {"format": FORMAT, "version": VERSION, "marks": entries}
    if progress.order:
        page["order"] = [_booked_page(item) for item in progress.order]
    if progress.readings:
        page["readings"] = [_reading_page(item) for item in progress.readings]
    text: str = yaml.safe_dump(page, sort_keys=False, allow_unicode=True)
    return text


def _booked_page(item: Booked) -> dict[str, Any]:
    dates = {"from": item.start, "to": item.end}
    told = {key: moment.astimezone(UTC).isoformat() for key, moment in dates.items() if moment is not None}
    return {"wave": item.wave, **told, "tasks": list(item.tasks)}


def _reading_page(item: Reading) -> dict[str, Any]:
    figures = {
        "dba": dict(item.levels_dba) or None,
        "watts": item.watts,
        "celsius": item.celsius,
        "season": item.season or None,
        "around": item.around_c,
        "background": item.background_dba,
        "note": item.note or None,
    }
    said = {key: value for key, value in figures.items() if value is not None}
    at = item.at.astimezone(UTC).isoformat()
    return {"wave": item.wave, "at": at, **said, "tasks": list(item.tasks)}


def write(path: Path, progress: Progress) -> None:
    """Write a progress file whole or not at all: the old one stays until the new one is on the disk."""
    put(path, dump(progress).encode("utf-8"))


def read(path: Path) -> Progress:
    """Read a progress file; none gives no progress. ProgressError for one that is not whole."""
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return Progress()
    except UnicodeDecodeError as error:
        raise ProgressError(f"{path.name}: is no UTF-8 text") from error
    try:
        page = yaml.safe_load(text)
    except yaml.YAMLError as error:
        raise ProgressError(f"{path.name}: is no YAML: {error}") from error
    if not isinstance(page, dict) or page.get("format") != FORMAT or page.get("version") != VERSION:
        raise ProgressError(f"{path.name}: is no {FORMAT} file of version {VERSION}")
    return Progress(
        tuple(_each(path, "mark", "marks", page.get("marks"), _entry)),
        tuple(_each(path, "wave", "order", page.get("order", []), _booked)),
        tuple(_each(path, "reading", "readings", page.get("readings", []), _reading)),
    )


def _each(
    path: Path, word: str, key: str, items: object, read_one: Callable[[dict[str, Any]], Item]
) -> Iterator[Item]:
    if not isinstance(items, list):
        raise ProgressError(f"{path.name}: {key}: write a list")
    for number, item in enumerate(items, start=1):
        try:
            yield read_one(item)
        except KeyError as error:
            raise ProgressError(f"{path.name}: {word} {number}: {error} is missing") from error
        except (AttributeError, TypeError, ValueError) as error:
            raise ProgressError(f"{path.name}: {word} {number}: {error}") from error


def _entry(item: dict[str, Any]) -> Entry:
    note = str(item.get("note", ""))
    return Entry(int(item["wave"]), Mark(item["mark"]), _tasks(item), _moment(item, "at"), note)


def _booked(item: dict[str, Any]) -> Booked:
    dates = [_moment(item, key) if key in item else None for key in ("from", "to")]
    return Booked(int(item["wave"]), _tasks(item), *dates)


def _reading(item: dict[str, Any]) -> Reading:
    levels = item.get("dba", {})
    if not isinstance(levels, dict):
        raise ValueError("'dba' has a level for each listener")
    watts, celsius, around_c, background_dba = (
        _number(item[key], key) if key in item else None
        for key in ("watts", "celsius", "around", "background")
    )
    return Reading(
        int(item["wave"]),
        _tasks(item),
        _moment(item, "at"),
        tuple((str(name), _number(level, "dba")) for name, level in levels.items()),
        watts,
        celsius,
        str(item.get("season", "")),
        around_c,
        background_dba,
        str(item.get("note", "")),
    )


def _number(value: object, key: str) -> float:
    if not isinstance(value, int | float) or isinstance(value, bool) or not math.isfinite(value):
        raise ValueError(f"'{key}' is a number")
    return float(value)


def _moment(item: dict[str, Any], key: str) -> datetime:
    value = item[key]
    at = value if isinstance(value, datetime) else datetime.fromisoformat(value)
    if at.tzinfo is None:
        raise ValueError(f"'{key}' needs a time zone")
    return at


def _tasks(item: dict[str, Any]) -> tuple[str, ...]:
    tasks: Sequence[object] = item["tasks"]
    if not isinstance(tasks, list) or not all(isinstance(id_, str) for id_ in tasks):
        raise ValueError("'tasks' is a list of task names")
    return tuple(str(id_) for id_ in tasks)
