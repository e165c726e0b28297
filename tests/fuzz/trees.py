"""YAML trees that can hold what a dictionary cannot, and their text: duplicate keys, odd keys, raw scalars.

A mapping is a `Pairs`, a sequence a `list`, a scalar what the reader makes of it; `Raw` is text that is
written as it stands.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from planner.inventory.text.yaml_tree import plain_value

PLAIN = re.compile(r"[A-Za-z0-9.°²³-][A-Za-z0-9 ./%°²³_+()-]*")
BLOCK_DEPTH = 2
"""Sections and named entries stand on lines of their own, all below in brackets."""


class Raw(str):
    """Text that is written without quotes, whatever it looks like."""


class Pairs(list[tuple[Any, Any]]):
    """A mapping as a list of keys and values; a key may stand there twice."""


def tree_of(data: Any) -> Any:
    """Build a tree from plain data."""
    if isinstance(data, dict):
        return Pairs((key, tree_of(value)) for key, value in data.items())
    return [tree_of(value) for value in data] if isinstance(data, list) else data


def copied(tree: Any) -> Any:
    """Copy a tree; scalars are shared."""
    if isinstance(tree, Pairs):
        return Pairs((key, copied(value)) for key, value in tree)
    return [copied(value) for value in tree] if isinstance(tree, list) else tree


def containers(tree: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Walk all mappings and sequences of a tree with their paths, the top first."""
    if isinstance(tree, list):
        yield path, tree
        items = tree if isinstance(tree, Pairs) else enumerate(tree)
        for key, value in items:
            yield from containers(value, (*path, key))


def written(tree: Any, depth: int = 0) -> str:
    """Write a tree as YAML text: block form at the top, brackets below."""
    if not isinstance(tree, Pairs) or not tree or depth >= BLOCK_DEPTH:
        return f"{_flow(tree)}\n" if depth == 0 else f" {_flow(tree)}\n"
    indent = "  " * depth
    lines = (f"{indent}{_scalar(key)}:{written(value, depth + 1)}" for key, value in tree)
    return ("\n" if depth else "") + "".join(lines)


def _flow(tree: Any) -> str:
    if isinstance(tree, Pairs):
        return "{" + ", ".join(f"{_scalar(key)}: {_flow(value)}" for key, value in tree) + "}"
    if isinstance(tree, list):
        return "[" + ", ".join(map(_flow, tree)) + "]"
    return _scalar(tree)


def _scalar(value: Any) -> str:
    if isinstance(value, Raw):
        return value
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(value)
    return _text(value) if isinstance(value, str) else _flow(value)


@lru_cache(maxsize=100_000)
def _text(value: str) -> str:
    plain = PLAIN.fullmatch(value) and not value.endswith(" ") and plain_value(value) == value
    return value if plain else json.dumps(value, ensure_ascii=False)
