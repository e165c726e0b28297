"""Keeps account of figures that were converted from a unit of the trade while a file is read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

from planner.inventory.text.errors import Path, show
from planner.inventory.text.yaml_tree import Tree


@dataclass(frozen=True)
class Conversion:
    """A figure in a unit of the trade, and how it was read; ``line`` counts from 1."""

    file: str
    line: int | None
    path: str
    written: str
    read_as: str
    advice: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        words = f"{place}: {self.path}: {self.written}, read as {self.read_as}"
        return f"{words}. {self.advice}" if self.advice else words


Note = tuple[object, str, str]
"""The very object that was written, how it was read, and advice on it."""

_NOTES: ContextVar[list[Note] | None] = ContextVar("conversions", default=None)


@contextmanager
def collect_conversions() -> Iterator[list[Note]]:
    """Collect what is converted inside the block."""
    notes: list[Note] = []
    token = _NOTES.set(notes)
    try:
        yield notes
    finally:
        _NOTES.reset(token)


def note_conversion(written: object, read_as: str, advice: str = "") -> None:
    """Record that a written value was converted, where somebody collects it."""
    notes = _NOTES.get()
    if notes is not None:
        notes.append((written, read_as, advice))


def locate_conversions(notes: list[Note], tree: Tree) -> tuple[Conversion, ...]:
    """Find the places of converted values in a file, in its order.

    A validator knows a value but not its path, so a value is found again as the object that it is.
    """
    places = dict(_scalars(tree.data, ()))
    found: dict[Path, Conversion] = {}
    for written, read_as, advice in notes:
        path = places.get(id(written))
        if path is not None:
            here = tree.problem(path, "")
            found[path] = Conversion(here.file, here.line, here.path, show(written), read_as, advice)
    return tuple(sorted(found.values(), key=lambda each: (each.file, each.line or 0)))


def _scalars(data: Any, path: Path) -> Iterator[tuple[int, Path]]:
    """List the identity of every text in a file, keys too, with its path."""
    if isinstance(data, dict | list):
        for key, value in data.items() if isinstance(data, dict) else enumerate(data):
            yield id(key), (*path, key)
            yield from _scalars(value, (*path, key))
    elif isinstance(data, str):
        yield id(data), path
