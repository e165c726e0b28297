"""The progress of an order as a small file beside the inventory: written, and read item by item.

The last line says that the file is complete, so that one cut short is never taken for less work.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import yaml
from yaml.reader import ReaderError

from planner.files import put_if_unchanged
from planner.moves.tasks.progress import Booked, Entry, Mark, Progress
from planner.moves.tasks.readings import Reading

FORMAT = "stillroom.progress"
VERSION = 2
OLD_VERSION = 1
"""Files of this version have no last line that says that they are complete."""

LAST = "complete"
SUFFIX = ".progress.yaml"
MOST_CHARACTERS = 5_000_000
MOST_WAVES = 1_000_000
Item = TypeVar("Item")
ReadItem = Callable[[dict[str, Any]], Item]
UNREADABLE = (AttributeError, TypeError, ValueError, OverflowError, RecursionError)
"""What reading a value that is none raises."""


class ProgressError(ValueError):
    """A progress file that cannot be read; the message names the file, the place and the repair."""


def path_beside(inventory: Path) -> Path:
    """Look up where the progress of an inventory is kept."""
    return inventory.with_name(inventory.stem + SUFFIX)


def dump(progress: Progress) -> str:
    """Write the text of a progress file."""
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
    page[LAST] = True
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


@dataclass(frozen=True)
class Kept:
    """A progress as it was read, with the bytes that it was read from; None where there was no file."""

    path: Path
    progress: Progress
    data: bytes | None = None

    def write(self, progress: Progress) -> None:
        """Write a progress in its place; ChangedError where somebody else has written it meanwhile."""
        put_if_unchanged(self.path, self.data, dump(progress).encode("utf-8"))


def read(path: Path) -> Progress:
    """Read a progress file; none gives no progress. ProgressError for one that is not whole."""
    return read_kept(path).progress


def read_kept(path: Path) -> Kept:
    """Read a progress file with the bytes it has, to be written only while it still has them."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return Kept(path, Progress())
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise ProgressError(f"{path.name}, line {line}: is no UTF-8 text") from error
    return Kept(path, parsed(path.name, text), data)


def parsed(name: str, text: str) -> Progress:
    """Read the text of a progress file; ProgressError with the file's name and the line."""
    page, lines = _page(name, text)
    version = page.get("version")
    if page.get("format") != FORMAT or type(version) is not int or version not in (OLD_VERSION, VERSION):
        raise ProgressError(f"{name}, line 1: is no {FORMAT} file of version {VERSION}")
    found = Progress(
        tuple(_each(name, "mark", "marks", page.get("marks"), lines, read_entry)),
        tuple(_each(name, "wave", "order", page.get("order", []), lines, read_booked)),
        tuple(_each(name, "reading", "readings", page.get("readings", []), lines, read_reading)),
    )
    if version != OLD_VERSION and page.get(LAST) is not True:
        last = text.rstrip().count("\n") + 1
        raise ProgressError(f"{name}, line {last}: is cut short, its last line '{LAST}: true' is missing")
    return found


def _page(name: str, text: str) -> tuple[dict[str, Any], dict[str, list[int]]]:
    """Read the YAML: the mapping, and by key its line, then that of each item of its list."""
    if len(text) > MOST_CHARACTERS:
        raise ProgressError(f"{name}: is longer than a progress file can be")
    try:
        loader = yaml.SafeLoader(text)
    except ReaderError as error:
        line = text[: error.position].count("\n") + 1
        raise ProgressError(f"{name}, line {line}: has a character that no text has") from error
    try:
        node = loader.get_single_node()
        page = loader.construct_document(node) if node is not None else None
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark is not None else 1
        raise ProgressError(f"{name}, line {line}: is no YAML: {error.problem or error.context}") from error
    except UNREADABLE as error:
        raise ProgressError(
            f"{name}, up to line {loader.line + 1}: has a value that is none: {error}"
        ) from error
    finally:
        loader.dispose()
    if not isinstance(page, dict) or not isinstance(node, yaml.MappingNode):
        raise ProgressError(f"{name}, line 1: is no {FORMAT} file of version {VERSION}")
    lines = {
        str(key.value): [
            each.start_mark.line + 1
            for each in (key, *(value.value if isinstance(value, yaml.SequenceNode) else ()))
        ]
        for key, value in node.value
    }
    return page, lines


def _each(
    name: str, word: str, key: str, items: object, lines: dict[str, list[int]], read_one: ReadItem[Item]
) -> Iterator[Item]:
    if not isinstance(items, list):
        raise ProgressError(f"{name}, line {lines.get(key, [1])[0]}: {key}: write a list")
    for number, item in enumerate(items, start=1):
        place = f"{name}, line {lines[key][number]}: {word} {number}"
        try:
            yield read_one(item)
        except KeyError as error:
            raise ProgressError(f"{place}: {error} is missing") from error
        except UNREADABLE as error:
            raise ProgressError(f"{place}: {error}") from error


def read_entry(item: dict[str, Any]) -> Entry:
    """Read a mark; KeyError for what is missing, ValueError and its like for what is none."""
    note = str(item.get("note", ""))
    return Entry(_wave(item), Mark(item["mark"]), _tasks(item), _moment(item, "at"), note)


def read_booked(item: dict[str, Any]) -> Booked:
    """Read a wave of the order that is worked from; raises like ``read_entry``."""
    dates = [_moment(item, key) if key in item else None for key in ("from", "to")]
    return Booked(_wave(item), _tasks(item), *dates)


def read_reading(item: dict[str, Any]) -> Reading:
    """Read a reading; raises like ``read_entry``."""
    levels = item.get("dba", {})
    if not isinstance(levels, dict):
        raise ValueError("'dba' has a level for each listener")
    watts, celsius, around_c, background_dba = (
        _number(item[key], key) if key in item else None
        for key in ("watts", "celsius", "around", "background")
    )
    return Reading(
        _wave(item),
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


def _wave(item: dict[str, Any]) -> int:
    value = item["wave"]
    if type(value) is not int or not 0 <= value < MOST_WAVES:
        raise ValueError("'wave' is the number of a wave")
    return value


def _number(value: object, key: str) -> float:
    if not isinstance(value, int | float) or isinstance(value, bool) or not math.isfinite(value):
        raise ValueError(f"'{key}' is a number")
    return float(value)


def _moment(item: dict[str, Any], key: str) -> datetime:
    value = item[key]
    at = value if isinstance(value, datetime) else datetime.fromisoformat(value)
    if at.tzinfo is None:
        raise ValueError(f"'{key}' needs a time zone")
    if not 1900 < at.year < 3000:
        raise ValueError(f"'{key}' is no date of this time")
    return at.astimezone(UTC)


def _tasks(item: dict[str, Any]) -> tuple[str, ...]:
    tasks: Sequence[object] = item["tasks"]
    if not isinstance(tasks, list) or not all(isinstance(id_, str) for id_ in tasks):
        raise ValueError("'tasks' is a list of task names")
    return tuple(str(id_) for id_ in tasks)
