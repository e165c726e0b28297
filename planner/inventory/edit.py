"""Changes single values of an inventory file in place: comments, order and spacing stay as they are.

A draft is text. Changing it gives a new draft, so undoing is keeping the old one. Only `Draft.save` touches
the file.
"""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import Any

from planner.inventory.errors import InventoryError, Path, Problem, path_text, show
from planner.inventory.reader import BYTE_ORDER_MARK, Place, Tree, parse, plain_value, read_text

BLOCK_MARKS = ("|", ">")


class EditError(InventoryError):
    """A change that cannot be made, or a file that cannot be saved; nothing was written."""


@dataclass(frozen=True)
class Draft:
    """An inventory being edited: the file, its text when it was opened or last saved, and the text now."""

    file: FilePath
    saved: str
    text: str

    @property
    def changed(self) -> bool:
        """Whether saving would write anything."""
        return self.text != self.saved

    def value(self, path: Path) -> str:
        """Give the text of a single value as it stands in the file, quotes included.

        Raises
        ------
        EditError
            If there is no such value, or it is a mapping or a list.
        """
        start, end = self._span(_scalar_place(self._tree(), path, self.file))
        return self.text[start:end]

    def change(self, path: Path, written: str) -> Draft:
        """Put another text in place of a single value, in quotes where YAML needs them.

        Raises
        ------
        EditError
            If there is no such single value, or the change would touch anything but it.
        """
        tree = self._tree()
        place = _scalar_place(tree, path, self.file)
        if any(not character.isprintable() for character in written):
            raise _refusal(self.file, place, path, f"{show(written)} cannot be written.", "Keep to one line.")
        start, end = self._span(place)
        if self.text[start : start + 1] in BLOCK_MARKS:
            raise _refusal(
                self.file, place, path, "this text runs over several lines.", "Edit it in the file."
            )
        gap = " " if start == end and self.text[start - 1 : start] == ":" else ""
        for form, meant in _forms(written):
            text = self.text[:start] + gap + form + self.text[end:]
            if form and _reads_as(tree, text, _with(tree.data, path, meant)):
                return replace(self, text=text)
        raise _refusal(self.file, place, path, f"{show(written)} cannot stand here.", "Edit it in the file.")

    def add(self, path: Path, written: str) -> Draft:
        """Put a new key, the last of the path, at the end of the mapping above it.

        Raises
        ------
        EditError
            If there is no such mapping, it has the key already, or the change would touch anything else.
        """
        tree, key = self._tree(), path[-1]
        place = tree.places.get(path[:-1])
        if place is None or isinstance(key, int) or not isinstance(_at(tree.data, path[:-1]), dict):
            raise _refusal(self.file, tree.place(path), path, "there is no mapping to put it in.")
        if path in tree.places:
            raise _refusal(
                self.file, tree.places[path], path, "this key is there already.", "Change its value."
            )
        for form, meant in _forms(written):
            for name in (key, json.dumps(key, ensure_ascii=False)):
                text = self._with_entry(tree, path[:-1], f"{name}: {form}")
                if form and _reads_as(tree, text, _with_key(tree.data, path, meant)):
                    return replace(self, text=text)
        raise _refusal(self.file, place, path, f"{show(written)} cannot stand here.", "Edit it in the file.")

    def _with_entry(self, tree: Tree, parent: Path, entry: str) -> str:
        start, end = self._span(tree.places[parent])
        if self.text[start] == "{":
            inside = self.text[start + 1 : end - 1].rstrip()
            comma = ", " if inside and not inside.endswith(",") else ""
            return self.text[: start + 1] + inside + comma + entry + self.text[end - 1 :]
        below = [place for path, place in tree.places.items() if path[:-1] == parent and path]
        within = [place for path, place in tree.places.items() if path[: len(parent)] == parent]
        # An indented mapping's own end mark lies beyond the comments that follow it.
        closed = [place for place in within if place.scalar or self.text[self._span(place)[0]] in "[{"]
        stop = self.text.find("\n", max(self._span(place)[1] for place in closed))
        head, tail = (self.text, "") if stop < 0 else (self.text[:stop], self.text[stop:])
        line_end = "\r" if head.endswith("\r") else ""
        return f"{head}\n{' ' * below[0].column}{entry}{line_end}{tail}"

    def save(self) -> Draft:
        """Write the text to the file, all of it or nothing, and give the draft that is then saved.

        Raises
        ------
        EditError
            If the file was changed by somebody else since it was opened, or cannot be written.
        """
        target = self.file.resolve()
        try:
            if target.read_bytes() != self.saved.encode("utf-8"):
                raise _refusal(
                    self.file, None, (), "the file was changed by somebody else.", "Open it again."
                )
            _replace_file(target, self.text.encode("utf-8"))
            written = target.read_bytes()
        except OSError as error:
            reason = error.strerror or str(error)
            raise _refusal(self.file, None, (), f"the file cannot be written: {reason}.") from None
        if written != self.text.encode("utf-8"):
            raise _refusal(self.file, None, (), "what was written reads back otherwise.", "Check the disk.")
        return replace(self, saved=self.text)

    def _tree(self) -> Tree:
        return parse(self.text, self.file.name)

    def _span(self, place: Place) -> tuple[int, int]:
        shift = len(BYTE_ORDER_MARK) if self.text.startswith(BYTE_ORDER_MARK) else 0
        return place.start + shift, place.end + shift


def _forms(written: str) -> tuple[tuple[str, Any], ...]:
    """Give the ways to write a text, plain and in quotes, each with what it then means."""
    return (written, plain_value(written)), (json.dumps(written, ensure_ascii=False), written)


def open_draft(path: str | os.PathLike[str]) -> Draft:
    """Open a file for editing; it may hold mistakes, but must be readable.

    Raises
    ------
    InventoryError
        If it cannot be read, or is no YAML.
    """
    text = read_text(path)
    draft = Draft(FilePath(path), text, text)
    parse(text, draft.file.name)
    return draft


def _scalar_place(tree: Tree, path: Path, file: FilePath) -> Place:
    place = tree.places.get(path)
    if place is None:
        raise _refusal(file, tree.place(path), path, "there is no such value in the file.")
    if not place.scalar:
        raise _refusal(file, place, path, "this is not a single value.", "Change one of its parts.")
    return place


def _refusal(file: FilePath, place: Place | None, path: Path, message: str, repair: str = "") -> EditError:
    line = place.line if place else None
    return EditError((Problem(show(file.name), line, path_text(path), message, repair),))


def _reads_as(old: Tree, text: str, data: Any) -> bool:
    """Read a changed text again and compare it with what was meant."""
    try:
        new = parse(text, "")
    except InventoryError:
        return False
    return len(new.problems) <= len(old.problems) and bool(new.data == data)


def _with_key(data: Any, path: Path, meant: Any) -> Any:
    if len(path) == 1:
        return {**data, path[0]: meant}
    return _with(data, path[:-1], {**_at(data, path[:-1]), path[-1]: meant})


def _at(data: Any, path: Path) -> Any:
    for part in path:
        data = data[part]
    return data


def _with(data: Any, path: Path, meant: Any) -> Any:
    if not path:
        return meant
    first, rest = path[0], path[1:]
    if isinstance(data, dict):
        return {key: _with(value, rest, meant) if key == first else value for key, value in data.items()}
    return [_with(value, rest, meant) if index == first else value for index, value in enumerate(data)]


def _replace_file(target: FilePath, content: bytes) -> None:
    """Write beside the file, bring it to the disk, and put it in the file's place in one step."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        shutil.copymode(target, name)
        os.replace(name, target)
    except OSError:
        FilePath(name).unlink(missing_ok=True)
        raise
