"""Reads a YAML file into plain data that remembers the place of every value.

The file is read event by event with PyYAML's safe loader: no object is ever built from a tag, nothing
recurses, and what a hand-written inventory does not need (anchors, aliases, tags, further documents) is
refused with its line.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any, NamedTuple, NoReturn

import yaml

from planner.inventory.text.errors import InventoryError, Path, Problem, is_unsafe, path_text, show

MAX_BYTES = 4 * 1024 * 1024
MAX_DEPTH = 24
MOST_PROBLEMS = 200
BYTE_ORDER_MARK = "\ufeff"
NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?")
LONGEST_WHOLE = 16
NOT_FINITE = re.compile(r"[-+]?\.(inf|nan)", re.IGNORECASE)
WORDS: dict[str, bool | None] = {
    **dict.fromkeys(("yes", "true", "on"), True),
    **dict.fromkeys(("no", "false", "off"), False),
    **dict.fromkeys(("", "~", "null"), None),
}
WANTED = (yaml.NodeEvent, yaml.CollectionEndEvent)
LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Place(NamedTuple):
    """Where a value stands: its file, the line and column of its key, and its characters in the text.

    A mapping or list in indented form ends where the next thing begins, one in brackets with its bracket.
    """

    file: str
    line: int
    start: int
    end: int
    scalar: bool
    column: int = 0


@dataclass
class Tree:
    """The plain data of a file, the places of its values, and the mistakes met while reading."""

    data: Any
    places: dict[Path, Place] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def place(self, path: Path) -> Place | None:
        """Find the place of a path, or of the nearest thing above it that is in the file."""
        for length in range(len(path), -1, -1):
            if path[:length] in self.places:
                return self.places[path[:length]]
        return None

    def written(self, path: Path) -> Path:
        """Find the longest beginning of a path that stands in the file."""
        return next(path[:n] for n in range(len(path), -1, -1) if path[:n] in self.places or n == 0)

    def problem(self, path: Path, message: str, repair: str = "") -> Problem:
        """Make a problem that points at a path."""
        place = self.place(path)
        file, line = (place.file, place.line) if place else ("", None)
        return Problem(file, line, path_text(path), message, repair)


def read_text(path: str | os.PathLike[str]) -> str:
    """Read a file as UTF-8 text.

    Raises
    ------
    InventoryError
        If it cannot be opened, is a directory, larger than 4 MiB, empty, binary, or not UTF-8.
    """
    name = FilePath(path).name or str(path)
    try:
        with open(path, "rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise _refusal(name, "there is no such file.", f"Looked for {show(path)}.") from None
    except IsADirectoryError:
        raise _refusal(name, "this is a directory.", "Name the inventory file in it.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _refusal(name, f"the file cannot be read: {reason}.") from None
    return _decode(name, raw)


def _decode(name: str, raw: bytes) -> str:
    if len(raw) > MAX_BYTES:
        raise _refusal(
            name, "the file is larger than 4 MiB.", "An inventory of a small office takes some KiB."
        )
    if b"\0" in raw:
        raise _refusal(name, "this is a binary file, not text.", "Save the inventory as UTF-8 text.")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise InventoryError(
            (Problem(show(name), line, "", "this is not UTF-8 text.", "Save the file with encoding UTF-8."),)
        ) from None
    if not text.strip().strip(BYTE_ORDER_MARK):
        raise _refusal(name, "the file is empty.", "Begin with a section such as 'room:'.")
    return text


def _refusal(name: str, message: str, repair: str = "") -> InventoryError:
    return InventoryError((Problem(show(name), None, "", message, repair),))


def parse(text: str, file: str) -> Tree:
    """Parse YAML text.

    Raises
    ------
    InventoryError
        If the text is no YAML at all, so that nothing after that place can be judged.
    """
    return _Builder(text.removeprefix(BYTE_ORDER_MARK), show(file)).build()


def plain_value(text: str) -> str | float | bool | None:
    """Say what an unquoted scalar means: a word such as yes, a decimal number, nothing, or its own text.

    Narrower than YAML 1.1, in which 12:30 is a number and 010 is eight.
    """
    if text.lower() in WORDS:
        return WORDS[text.lower()]
    if NUMBER.fullmatch(text):
        return int(text) if text.lstrip("+-").isdecimal() and len(text) < LONGEST_WHOLE else float(text)
    return float(text.replace(".", "")) if NOT_FINITE.fullmatch(text) else text


def _start_line(event: yaml.Event) -> int:
    """Compute the line of an event, from 1."""
    return event.start_mark.line + 1 if event.start_mark else 1


class _Builder:
    """Turns the stream of events into data; ``file`` is the name that problems carry."""

    def __init__(self, text: str, file: str) -> None:
        self.text = text
        self.file = file
        self.tree = Tree(None)
        self.depth = 0
        self.last_end = 0

    def build(self) -> Tree:
        try:
            self.events = self._events()
            self.tree.data = self._value(next(self.events), ())
            next(self.events, None)
        except StopIteration:
            self._stop(1, "the file holds no data.", "Begin with a section such as 'room:'.")
        except yaml.YAMLError as error:
            self._syntax(error)
        return self.tree

    def _events(self) -> Iterator[yaml.Event]:
        documents = 0
        for event in yaml.parse(self.text, Loader=LOADER):
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    line = _start_line(event)
                    self._stop(line, "a second document begins here.", "Keep one inventory in a file.")
            elif isinstance(event, WANTED):
                yield event

    def _value(self, event: yaml.Event, path: Path, key: yaml.Event | None = None) -> Any:
        line = _start_line(key or event)
        scalar = isinstance(event, yaml.ScalarEvent)
        self._refuse_extras(event, path, line)
        start, end = event.start_mark, event.end_mark
        assert start is not None
        assert end is not None
        begin = key.start_mark if key and key.start_mark else start
        self.tree.places[path] = Place(self.file, line, start.index, end.index, scalar, begin.column)
        if isinstance(event, yaml.ScalarEvent):
            return self._scalar(event, path)
        if isinstance(event, yaml.AliasEvent):
            return None
        self.depth += 1
        if self.depth > MAX_DEPTH:
            self._stop(line, f"values are nested more than {MAX_DEPTH} deep.", "Check the brackets.")
        mapping = isinstance(event, yaml.MappingStartEvent)
        value = self._mapping(path) if mapping else self._sequence(path)
        self.tree.places[path] = self.tree.places[path]._replace(end=self.last_end)
        self.depth -= 1
        return value

    def _mapping(self, path: Path) -> dict[str, Any]:
        data: dict[str, Any] = {}
        while not isinstance(event := self._next(), yaml.MappingEndEvent):
            line = _start_line(event)
            self._refuse_extras(event, path, line)
            if not isinstance(event, yaml.ScalarEvent):
                self._stop(line, "a key must be a plain name.", "Write 'name: value'.")
            key = event.value
            if key in data:
                first = self.tree.places[(*path, key)].line
                self._add(line, (*path, key), f"this name stands here twice (first on line {first}).")
                self._skip(next(self.events))
                continue
            self._refuse_unsafe(key, (*path, key), line)
            data[key] = self._value(next(self.events), (*path, key), event)
        return data

    def _sequence(self, path: Path) -> list[Any]:
        data: list[Any] = []
        while not isinstance(event := self._next(), yaml.SequenceEndEvent):
            data.append(self._value(event, (*path, len(data))))
        return data

    def _next(self) -> yaml.Event:
        event = next(self.events)
        self.last_end = event.end_mark.index if event.end_mark else 0
        return event

    def _skip(self, event: yaml.Event) -> None:
        depth = 0
        while True:
            depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
            if not depth:
                return
            event = next(self.events)

    def _scalar(self, event: yaml.ScalarEvent, path: Path) -> str | float | bool | None:
        text: str = event.value
        self._refuse_unsafe(text.replace("\n", " ").replace("\t", " "), path, self.tree.places[path].line)
        return text if event.style else plain_value(text)

    def _refuse_extras(self, event: yaml.Event, path: Path, line: int) -> None:
        anchor, tag = getattr(event, "anchor", None), getattr(event, "tag", None)
        if anchor is None and tag is None:
            return
        if isinstance(event, yaml.AliasEvent):
            self._add(line, path, f"*{show(anchor)} is an alias.", "Write the value out.")
        elif anchor:
            self._add(line, path, f"&{show(anchor)} is an anchor.", "Write the value out where it is used.")
        if tag and tag != "!":
            self._add(line, path, f"the tag {show(tag)} is not read.", "Take it away.")

    def _refuse_unsafe(self, text: str, path: Path, line: int) -> None:
        if text.isascii() and text.isprintable():
            return
        bad = next((character for character in text if is_unsafe(character)), None)
        if bad is not None:
            self._add(line, path, f"the text holds the control character U+{ord(bad):04X}.", "Take it out.")

    def _add(self, line: int, path: Path, message: str, repair: str = "") -> None:
        if len(self.tree.problems) >= MOST_PROBLEMS:
            self._stop(line, "there are too many mistakes to go on.", "Mend these first.")
        self.tree.problems.append(Problem(self.file, line, path_text(path), message, repair))

    def _stop(self, line: int, message: str, repair: str = "") -> NoReturn:
        raise InventoryError((*self.tree.problems, Problem(self.file, line, "", message, repair)))

    def _syntax(self, error: yaml.YAMLError) -> NoReturn:
        mark = getattr(error, "problem_mark", None)
        lines = self.text.splitlines()
        line = min(mark.line + 1, max(1, len(lines))) if mark else None
        here = lines[line - 1] if line and line <= len(lines) else ""
        if "\t" in here[: len(here) - len(here.lstrip())]:
            self._stop(line or 1, "a tab stands in the indentation.", "Indent with spaces.")
        what = getattr(error, "problem", None) or getattr(error, "reason", None) or "this is no YAML"
        self._stop(
            line or 1, f"this cannot be read: {show(what)}.", "Look at this line and the one above it."
        )
