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
        for form, meant in (
            (written, plain_value(written)),
            (json.dumps(written, ensure_ascii=False), written),
        ):
            text = self.text[:start] + gap + form + self.text[end:]
            if form and _differs_only_at(tree, text, path, meant):
                return replace(self, text=text)
        raise _refusal(self.file, place, path, f"{show(written)} cannot stand here.", "Edit it in the file.")

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


def _differs_only_at(old: Tree, text: str, path: Path, meant: Any) -> bool:
    """Read a changed text again: everything but one value must be as before, and that one as meant."""
    try:
        new = parse(text, "")
    except InventoryError:
        return False
    same_keys = list(new.places) == list(old.places)
    return same_keys and len(new.problems) <= len(old.problems) and new.data == _with(old.data, path, meant)


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
