"""What can still be read of a broken progress file, found item by item in its text.

Marks are taken up to the first one that cannot be read, for a mark hangs on those before it; the item on
which a file ends without saying that it is complete is left out, for it may be cut short.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import yaml

from planner.files import put
from planner.moves.tasks.progress import Entry, Progress
from planner.moves.tracking.progress_file import (
    LAST,
    MOST_CHARACTERS,
    SUFFIX,
    UNREADABLE,
    Item,
    ReadItem,
    dump,
    read_entry,
    read_reading,
)

KEY = re.compile(r"^([a-z]+):\s*$")
BEGINS = re.compile(r"^(\s*)- ")
READABLE = ".progress.readable.yaml"


def rescued(data: bytes) -> Progress:
    """Collect the marks and readings that can be read; the order worked from is made anew."""
    text = data[:MOST_CHARACTERS].decode("utf-8", errors="replace")
    chunks = list(_chunks(text))
    marks = _read(chunks, "marks", read_entry)
    readings = _read(chunks, "readings", read_reading)
    return Progress(tuple(_until_broken(marks)), (), tuple(item for item in readings if item is not None))


def keep_aside(path: Path) -> tuple[Path, Progress] | None:
    """Write what can be read of a broken file beside it; None where that is nothing.

    Raises OSError when the one cannot be read or the other not written.
    """
    found = rescued(path.read_bytes())
    if not found.entries and not found.readings:
        return None
    aside = path.with_name(path.name.removesuffix(SUFFIX) + READABLE)
    put(aside, dump(found).encode("utf-8"))
    return aside, found


def _chunks(text: str) -> Iterator[tuple[str, str]]:
    """Cut a text into the items of its lists, each with the list's key; the last one may be cut short."""
    key, indent, lines = "", "", list[str]()
    for line in [*text.splitlines(), ""]:
        named, begins = KEY.match(line), BEGINS.match(line)
        is_next = begins is not None and (not lines or begins.group(1) == indent)
        if named or line.startswith(f"{LAST}:") or is_next:
            if lines:
                yield key, "\n".join(lines)
            lines = [line] if begins else []
            indent = begins.group(1) if begins else ""
            key = named.group(1) if named else key
        elif lines:
            lines.append(line)


def _read(chunks: list[tuple[str, str]], key: str, read_one: ReadItem[Item]) -> Iterator[Item | None]:
    """Read the items of one list; None for one that cannot be read."""
    for chunk_key, text in chunks:
        if chunk_key == key:
            try:
                yield None if "\ufffd" in text else read_one(yaml.safe_load(text)[0])
            except (*UNREADABLE, KeyError, IndexError, yaml.YAMLError):
                yield None


def _until_broken(marks: Iterator[Entry | None]) -> Iterator[Entry]:
    for mark in marks:
        if mark is None:
            return
        yield mark
