"""Writes values as YAML: plain where that reads back as what was meant, in quotes where it would not."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from planner.inventory.text.errors import InventoryError
from planner.inventory.text.yaml_tree import parse

UNREAD = object()
"""What `reads_as` gives for text that is no value at all."""

Written = str | bool | int | float | Sequence[Any] | Mapping[str, Any]
"""A value that can be written; text within it is meant as text."""


def reads_as(text: str) -> Any:
    """Find the value that a text stands for, on a line as in brackets; UNREAD if it is none in either."""
    if not text or "\n" in text or "\r" in text or text != text.strip():
        return UNREAD
    try:
        tree, line = parse(f"[{{k: {text}}}, end]", ""), parse(f"k: {text}", "")
    except InventoryError:
        return UNREAD
    data = tree.data
    if tree.problems or len(data) != 2 or set(data[0]) != {"k"} or isinstance(data[0]["k"], list | dict):
        return UNREAD
    return data[0]["k"] if line.data == data[0] else UNREAD


def text_scalar(text: str) -> str:
    """Write a text so that it reads back as that very text, whatever it looks like."""
    value = reads_as(text)
    return text if isinstance(value, str) and value == text else json.dumps(text, ensure_ascii=False)


def bare_scalar(text: str) -> str:
    """Write what a person typed for a figure, so that it reads as they would read it: 2, yes, 32 GiB."""
    value = reads_as(text)
    is_kept = value is not UNREAD and value is not None and (not isinstance(value, str) or value == text)
    return text if is_kept else json.dumps(text, ensure_ascii=False)


def flow(value: Written) -> str:
    """Write a value on one line."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return text_scalar(value)
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{text_scalar(str(key))}: {flow(item)}" for key, item in value.items()) + "}"
    return "[" + ", ".join(flow(item) for item in value) + "]"
