"""An inventory's text under edit: every operation gives a new text, changed only where it was asked to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import yaml

from planner.inventory.editing import expected, splice
from planner.inventory.editing.nodes import EditError, compose, find
from planner.inventory.editing.writing import Written, flow, text_scalar
from planner.inventory.text.errors import InventoryError, Path
from planner.inventory.text.yaml_tree import BYTE_ORDER_MARK, parse


@dataclass(frozen=True)
class Document:
    """The text of a file, without its byte order mark, and the name that messages give it."""

    text: str
    name: str
    has_mark: bool = False

    @classmethod
    def of(cls, text: str, name: str) -> Document:
        """Take a file's text as it was read."""
        return cls(text.removeprefix(BYTE_ORDER_MARK), name, text.startswith(BYTE_ORDER_MARK))

    @property
    def whole(self) -> str:
        """The text as the file holds it."""
        return BYTE_ORDER_MARK * self.has_mark + self.text

    @cached_property
    def data(self) -> Any:
        """The plain data; EditError when the text cannot be read."""
        try:
            return parse(self.text, self.name).data
        except InventoryError as error:
            raise EditError(str(error)) from None

    @cached_property
    def root(self) -> yaml.Node:
        """The top node."""
        return compose(self.text)

    def get(self, path: Path, default: Any = None) -> Any:
        """Find the plain value at a path, or a default where there is none."""
        here = self.data
        for part in path:
            inside = (isinstance(here, dict) and part in here) or (
                isinstance(here, list) and isinstance(part, int) and 0 <= part < len(here)
            )
            if not inside:
                return default
            here = here[part]
        return here

    def has(self, path: Path) -> bool:
        """Say whether something stands at a path."""
        nothing = object()
        return self.get(path, nothing) is not nothing

    def set_value(self, path: Path, written: str) -> Document:
        """Put another value, written as YAML on one line, in the place of the one at a path."""
        text = splice.replaced(self.text, find(self.root, path), written)
        return self.checked(text, expected.with_value(self.data, path, expected.value_of(written)))

    def insert_key(self, path: Path, key: str, written: str) -> Document:
        """Add a key at the end of the mapping at a path; ``written`` may be a block below the key."""
        if self.has((*path, key)):
            raise EditError(f"{key} stands there already")
        text = splice.with_key(self.text, find(self.root, path), text_scalar(key), written)
        return self.checked(text, expected.with_key(self.data, path, key, expected.value_of(written)))

    def append(self, path: Path, written: str) -> Document:
        """Add a value at the end of the list at a path."""
        text = splice.with_item(self.text, find(self.root, path), written)
        return self.checked(text, expected.with_item(self.data, path, expected.value_of(written)))

    def remove(self, path: Path) -> Document:
        """Take away what stands at a path, with its key."""
        entry = find(self.root, path)
        assert entry.parent is not None
        text = splice.without(self.text, entry, find(self.root, path[:-1]))
        return self.checked(text, expected.without(self.data, path))

    def copy(self, path: Path, key: str) -> Document:
        """Put a copy of a mapping's entry below it under another key."""
        if self.has((*path[:-1], key)):
            raise EditError(f"{key} stands there already")
        text = splice.with_copy(self.text, find(self.root, path), text_scalar(key))
        return self.checked(text, expected.with_copy(self.data, path, key))

    def put(self, path: Path, written: str) -> Document:
        """Set the value at a path, adding its key, and the sections above it, where they are not there."""
        if self.has(path):
            return self.set_value(path, written)
        at = next(length for length in range(len(path) - 1, -1, -1) if self.has(path[:length]))
        for part in reversed(path[at + 1 :]):
            written = f"{{{text_scalar(str(part))}: {written}}}"
        return self.insert_key(path[:at], str(path[at]), written)

    def drop(self, path: Path) -> Document:
        """Take away what stands at a path, if anything does."""
        return self.remove(path) if self.has(path) else self

    def add(self, section: str, key: str, fields: dict[str, str]) -> Document:
        """Add an entry to a section, each field written as YAML, in the manner of the entry above it."""
        if not self.has((section,)) or not self.get((section,)):
            inner = ", ".join(f"{text_scalar(name)}: {written}" for name, written in fields.items())
            line = f"{text_scalar(key)}: {{{inner}}}"
            made = self.drop((section,)) if self.has((section,)) else self
            return made.insert_key((), section, f"\n  {line}")
        return self.insert_key((section,), key, splice.in_manner_of(find(self.root, (section,)), fields))

    def checked(self, text: str, wanted: Any) -> Document:
        """Read the new text again: what was asked is there, and all else is as it was."""
        made = replace(self, text=text)
        if repr(made.data) != repr(wanted):
            raise EditError("this cannot be changed in place; change it in a text editor")
        return made


def add_rule(document: Document, word: str, fields: dict[str, Written]) -> Document:
    """Add a rule (together, apart or quorum) to a document, with the sections it needs."""
    line = flow(fields)
    if document.get(("rules", word)):
        return document.append(("rules", word), line)
    cleared = document.drop(("rules", word))
    if cleared.get(("rules",)):
        return cleared.insert_key(("rules",), word, f"\n  - {line}")
    return cleared.drop(("rules",)).insert_key((), "rules", f"\n  {word}:\n    - {line}")
