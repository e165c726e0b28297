"""Gives an entry another name, and every place that names it: comments, order and spacing stay."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from planner.inventory.checks.references import KEYS, REFERENCES, Reference, uses
from planner.inventory.editing import expected
from planner.inventory.editing.document import Document
from planner.inventory.editing.nodes import EditError, end_of, find, start_of
from planner.inventory.editing.writing import text_scalar
from planner.inventory.text.errors import Path


@dataclass(frozen=True)
class Use:
    """A place that names an entry: as a value, or as a key."""

    path: Path
    is_key: bool


def rename(document: Document, path: Path, name: str) -> Document:
    """Rename the entry at a path, here and wherever it is named.

    EditError where the new name is taken, or where the old one stands for something else as well.
    """
    section, old = str(path[-2]), str(path[-1])
    if document.has((*path[:-1], name)):
        raise EditError(f"{name} stands there already")
    places = [Use(path, True), *uses_of(document, section, old)]
    text, data = document.text, document.data
    spans = sorted({_span(document, use) for use in places}, reverse=True)
    for start, end in spans:
        text = text[:start] + text_scalar(name) + text[end:]
    # Values first, then the deepest keys: a path is good until a key above it has another name.
    for use in sorted(places, key=lambda use: (use.is_key, -len(use.path))):
        change = expected.with_renamed if use.is_key else expected.with_value
        data = change(data, use.path, name)
    return document.checked(text, data)


def uses_of(document: Document, section: str, name: str) -> list[Use]:
    """List every place that names an entry of a section; EditError where it may mean another entry."""
    found: list[Use] = []
    for reference in REFERENCES:
        if section not in reference.sections:
            continue
        here = list(_uses(document.data, reference, name))
        others = [other for other in reference.sections if other != section]
        if here and any(document.has((other, name)) for other in others):
            raise EditError(f"{name} is also the name of something else; change it in a text editor")
        found += here
    return found


def _uses(data: Any, reference: Reference, name: str) -> Iterator[Use]:
    for path, value in uses(data, reference.pattern):
        if str(value) == name:
            yield Use(path, reference.pattern[-1] == KEYS)


def _span(document: Document, use: Use) -> tuple[int, int]:
    entry = find(document.root, use.path)
    node = entry.key if use.is_key and entry.key is not None else entry.value
    return start_of(node), end_of(node, document.text)
