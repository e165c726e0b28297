"""Cuts and joins of text at the places that the nodes give."""

from __future__ import annotations

import re

import yaml

from planner.inventory.editing.nodes import (
    EditError,
    Entry,
    column_of,
    end_of,
    entries,
    is_block,
    start_of,
)
from planner.inventory.editing.writing import text_scalar


def newline_of(text: str) -> str:
    """Write the line break that a text uses."""
    return "\r\n" if "\r\n" in text else "\n"


def line_start(text: str, at: int) -> int:
    """Compute the start of the line that a place is on."""
    return text.rfind("\n", 0, at) + 1


def line_end(text: str, at: int) -> int:
    """Compute the start of the line after the one that a place is on."""
    found = text.find("\n", at)
    return len(text) if found < 0 else found + 1


def replaced(text: str, entry: Entry, written: str) -> str:
    """Put another value where an entry's value stands."""
    start, end = start_of(entry.value), end_of(entry.value, text)
    if is_block(entry.value):
        start = _after_mark(text, entry)
        return f"{text[:start]} {written}{text[end:]}"
    gap = "" if end > start or text[:start].endswith(" ") else " "
    return f"{text[:start]}{gap}{written}{text[end:]}"


def _after_mark(text: str, entry: Entry) -> int:
    """Compute the place after an entry's colon."""
    if entry.key is None:
        return start_of(entry.value)
    return text.index(":", end_of(entry.key, text)) + 1


def with_key(text: str, at: Entry, key: str, written: str) -> str:
    """Add a key to the mapping that an entry holds."""
    inside = entries(at.value)
    if not is_block(at.value):
        if "\n" in written:
            raise EditError("a block cannot stand in brackets")
        return _into_brackets(text, at, f"{key}: {written}", bool(inside))
    column = column_of(inside[0].key or inside[0].value)
    return _line_after(text, inside[-1].end(text), _block_line(key, written, column), at.parent is None)


def _block_line(key: str, written: str, column: int) -> str:
    indent = " " * column
    first, *below = written.split("\n")
    head = f"{indent}{key}:{' ' + first if first else ''}"
    return "\n".join([head, *(indent + line for line in below)])


def _into_brackets(text: str, at: Entry, piece: str, has_others: bool) -> str:
    if has_others:
        end = entries(at.value)[-1].end(text)
        return f"{text[:end]}, {piece}{text[end:]}"
    if isinstance(at.value, yaml.CollectionNode):
        start = start_of(at.value) + 1
        return text[:start] + piece + text[start:]
    return replaced(text, at, f"{{{piece}}}")


def _line_after(text: str, at: int, line: str, is_section: bool) -> str:
    """Add whole lines below the line that a place is on; a section keeps the file's distance."""
    newline = newline_of(text)
    end = line_end(text, at)
    before, after = text[:end], text[end:]
    if not before.endswith("\n"):
        before += newline
    if is_section and re.search(r"\n\r?\n\w", text):
        before += newline
    return before + line.replace("\n", newline) + newline + after


def with_item(text: str, at: Entry, written: str) -> str:
    """Add a value to the list that an entry holds."""
    inside = entries(at.value)
    if not is_block(at.value):
        return _into_list(text, at, written, bool(inside))
    dash = text.rindex("-", 0, start_of(inside[0].value))
    column = dash - line_start(text, dash)
    return _line_after(text, inside[-1].end(text), f"{' ' * column}- {written}", False)


def _into_list(text: str, at: Entry, written: str, has_others: bool) -> str:
    if isinstance(at.value, yaml.SequenceNode):
        return _into_brackets(text, at, written, has_others)
    return replaced(text, at, f"[{written}]")


def without(text: str, entry: Entry, holder: Entry) -> str:
    """Take an entry away; the last one of its holder leaves empty brackets."""
    inside = entries(holder.value)
    if len(inside) == 1:
        if holder.key is None and holder.parent is None:
            raise EditError("the last section cannot be taken away")
        return replaced(text, holder, "{}" if isinstance(holder.value, yaml.MappingNode) else "[]")
    start, end = (_lines_of if is_block(holder.value) else _piece_of)(text, entry, inside)
    return text[:start] + text[end:]


def _piece_of(text: str, entry: Entry, inside: list[Entry]) -> tuple[int, int]:
    if entry.index + 1 < len(inside):
        return entry.start, inside[entry.index + 1].start
    return inside[entry.index - 1].end(text), entry.end(text)


def _lines_of(text: str, entry: Entry, inside: list[Entry]) -> tuple[int, int]:
    start = line_start(text, entry.start)
    lead = text[start : entry.start]
    if lead.strip() and not (entry.key is None and lead.strip() == "-"):
        if entry.index + 1 == len(inside):
            raise EditError("this shares its line with something else; change it in a text editor")
        return entry.start, inside[entry.index + 1].start
    return start, line_end(text, entry.end(text))


def with_copy(text: str, entry: Entry, key: str) -> str:
    """Put a copy of an entry below it, or behind it in brackets, under another key."""
    assert entry.key is not None
    assert entry.parent is not None
    rest = text[end_of(entry.key, text) : entry.end(text)]
    if not is_block(entry.parent):
        end = entry.end(text)
        return f"{text[:end]}, {key}{rest}{text[end:]}"
    indent = " " * column_of(entry.key)
    tail = text[entry.end(text) : line_end(text, entry.end(text))].rstrip("\r\n")
    return _line_after(text, entry.end(text), (indent + key + rest + tail).replace("\r\n", "\n"), False)


def in_manner_of(section: Entry, fields: dict[str, str]) -> str:
    """Write fields as a block where the last entry of a section is one, and in brackets otherwise."""
    inside = entries(section.value)
    pairs = [f"{text_scalar(name)}: {written}" for name, written in fields.items()]
    if is_block(section.value) and inside and is_block(inside[-1].value) and pairs:
        return "".join(f"\n  {pair}" for pair in pairs)
    return "{" + ", ".join(pairs) + "}"
