"""What has been done of an order: a small file beside the inventory, and the rest scheduled from there."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

import yaml

from planner.files import put
from planner.moves.wave import Wave

FORMAT = "stillroom.progress"
VERSION = 1
SUFFIX = ".progress.yaml"
Item = TypeVar("Item")


class Mark(StrEnum):
    """What became of a wave: done, or failed or rolled back (nothing of it stands), or moved to later."""

    DONE = "done"
    FAILED = "failed"
    ROLLED_BACK = "rolled back"
    MOVED = "moved"


class ProgressError(ValueError):
    """A progress file that cannot be read; the message names the file, the place and the repair."""


@dataclass(frozen=True)
class Entry:
    """One mark: the wave's number then, its tasks by id, when it was over, and a word of the person's.

    Of a wave that was moved, ``at`` is the moment before which it is not done.
    """

    wave: int
    mark: Mark
    tasks: tuple[str, ...]
    at: datetime
    note: str = ""


@dataclass(frozen=True)
class Booked:
    """A wave of the order that is worked from: its number, its tasks by id, its dates where it has some."""

    wave: int
    tasks: tuple[str, ...]
    start: datetime | None = None
    end: datetime | None = None


@dataclass(frozen=True)
class Progress:
    """All marks in the order in which they were made, and the waves that were to come when last looked at."""

    entries: tuple[Entry, ...] = ()
    order: tuple[Booked, ...] = ()

    @property
    def done(self) -> dict[str, datetime]:
        """The tasks that stand, each with when it was done; a later mark on a task counts."""
        found: dict[str, datetime] = {}
        for entry in self.entries:
            for id_ in entry.tasks:
                if entry.mark is Mark.DONE:
                    found[id_] = entry.at
                elif entry.mark is not Mark.MOVED:
                    found.pop(id_, None)
        return found

    @property
    def standing(self) -> tuple[Entry, ...]:
        """The marks of the waves that stand, in the order in which they were made."""
        last = {entry.tasks: entry for entry in self.entries if entry.mark is not Mark.MOVED}
        return tuple(entry for entry in last.values() if entry.mark is Mark.DONE)

    @property
    def waves_done(self) -> int:
        """The number of waves that stand."""
        return len(self.standing)

    @property
    def not_before(self) -> dict[str, datetime]:
        """The tasks whose wave was moved to later, each with the moment before which it is not done."""
        done = self.done
        moved = [entry for entry in self.entries if entry.mark is Mark.MOVED]
        return {id_: entry.at for entry in moved for id_ in entry.tasks if id_ not in done}

    def marked(self, wave: Wave, mark: Mark, at: datetime, note: str = "") -> Progress:
        """Give the progress with one more mark; ValueError when ``at`` has no time zone."""
        if at.tzinfo is None:
            raise ValueError("a mark needs a time with a time zone")
        tasks = tuple(task.id for task in wave.tasks)
        entry = Entry(wave.number, mark, tasks, at.astimezone(UTC), note)
        return replace(self, entries=(*self.entries, entry))

    def booked(self, waves: Iterable[Wave]) -> Progress:
        """Give the progress with these waves as the order that is worked from."""
        order = (Booked(w.number, tuple(task.id for task in w.tasks), w.start, w.end) for w in waves)
        return replace(self, order=tuple(order))


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
    text: str = yaml.safe_dump(page, sort_keys=False, allow_unicode=True)
    return text


def _booked_page(item: Booked) -> dict[str, Any]:
    dates = {"from": item.start, "to": item.end}
    told = {key: moment.astimezone(UTC).isoformat() for key, moment in dates.items() if moment is not None}
    return {"wave": item.wave, **told, "tasks": list(item.tasks)}


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
    marks, order = page.get("marks"), page.get("order", [])
    return Progress(
        tuple(_each(path, "mark", "marks", marks, _entry)),
        tuple(_each(path, "wave", "order", order, _booked)),
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
