"""What has been done of an order: a small file beside the inventory, and the rest scheduled from there."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import Any

import yaml

from planner.moves.wave import Wave

FORMAT = "stillroom.progress"
VERSION = 1
SUFFIX = ".progress.yaml"


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
    """One mark: the wave's number then, its tasks by id, when it was over, and a word of the person's."""

    wave: int
    mark: Mark
    tasks: tuple[str, ...]
    at: datetime
    note: str = ""


@dataclass(frozen=True)
class Progress:
    """All marks in the order in which they were made."""

    entries: tuple[Entry, ...] = ()

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
    def waves_done(self) -> int:
        """The number of waves that stand."""
        last = {entry.tasks: entry.mark for entry in self.entries}
        return sum(mark is Mark.DONE for mark in last.values())

    def marked(self, wave: Wave, mark: Mark, at: datetime, note: str = "") -> Progress:
        """Give the progress with one more mark; ValueError when ``at`` has no time zone."""
        if at.tzinfo is None:
            raise ValueError("a mark needs a time with a time zone")
        tasks = tuple(task.id for task in wave.tasks)
        return Progress((*self.entries, Entry(wave.number, mark, tasks, at.astimezone(UTC), note)))


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
    page = {"format": FORMAT, "version": VERSION, "marks": entries}
    text: str = yaml.safe_dump(page, sort_keys=False, allow_unicode=True)
    return text


def write(path: Path, progress: Progress) -> None:
    """Write a progress file whole or not at all: the old one stays until the new one is on the disk."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with open(handle, "w", encoding="utf-8") as file:
            file.write(dump(progress))
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(name)
        raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Bring the new name to the disk where the system allows it for folders."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


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
    return Progress(tuple(_entries(path, page.get("marks"))))


def _entries(path: Path, marks: object) -> Iterable[Entry]:
    if not isinstance(marks, list):
        raise ProgressError(f"{path.name}: marks: write a list")
    for number, item in enumerate(marks, start=1):
        try:
            yield _entry(item)
        except (KeyError, TypeError, ValueError) as error:
            raise ProgressError(f"{path.name}: mark {number}: {error}") from error


def _entry(item: dict[str, Any]) -> Entry:
    at = item["at"] if isinstance(item["at"], datetime) else datetime.fromisoformat(item["at"])
    if at.tzinfo is None:
        raise ValueError("'at' needs a time zone")
    tasks: Sequence[object] = item["tasks"]
    if not isinstance(tasks, list) or not all(isinstance(id_, str) for id_ in tasks):
        raise ValueError("'tasks' is a list of task names")
    names = tuple(str(id_) for id_ in tasks)
    return Entry(int(item["wave"]), Mark(item["mark"]), names, at, str(item.get("note", "")))
