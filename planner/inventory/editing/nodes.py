"""Where things stand in the text: PyYAML's nodes, with their true ends and lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import yaml

from planner.inventory.text.errors import Path, path_text
from planner.inventory.text.yaml_tree import LOADER


class EditError(Exception):
    """An edit that cannot be made without touching more than was asked."""


@dataclass(frozen=True)
class Entry:
    """A value with its key (None in a list) and what holds it (None at the top)."""

    key: yaml.Node | None
    value: yaml.Node
    parent: yaml.Node | None
    index: int = 0

    @property
    def start(self) -> int:
        """Where the entry begins: at its key, or at its value in a list."""
        return start_of(self.key if self.key is not None else self.value)

    def end(self, text: str) -> int:
        """Compute where its content ends, before any comment."""
        return max(end_of(self.value, text), end_of(self.key, text) if self.key is not None else 0)


def compose(text: str) -> yaml.Node:
    """Find the top node of a text; EditError when it is no YAML."""
    try:
        node: Any = yaml.compose(text, Loader=LOADER)
    except yaml.YAMLError as error:
        raise EditError(f"the text cannot be read: {error}") from None
    if not isinstance(node, yaml.MappingNode):
        raise EditError("the file must hold sections")
    return node


def start_of(node: yaml.Node) -> int:
    """Compute the place of a node's first character."""
    assert node.start_mark is not None
    return int(node.start_mark.index)


def column_of(node: yaml.Node) -> int:
    """Compute the column of a node's first character."""
    assert node.start_mark is not None
    return int(node.start_mark.column)


def end_of(node: yaml.Node, text: str) -> int:
    """Compute the place after a node's last character: a block ends with the last thing in it."""
    assert node.end_mark is not None
    end = int(node.end_mark.index)
    if is_block(node):
        found = entries(node)
        return found[-1].end(text) if found else start_of(node)
    if isinstance(node, yaml.ScalarNode) and node.style in ("|", ">"):
        return start_of(node) + len(text[start_of(node) : end].rstrip())
    return end


def is_block(node: yaml.Node) -> bool:
    """Say whether a node is a mapping or list written over lines, without brackets."""
    return isinstance(node, yaml.CollectionNode) and not node.flow_style


def entries(node: yaml.Node) -> list[Entry]:
    """Find what a mapping or list holds, in order."""
    if isinstance(node, yaml.MappingNode):
        return [Entry(key, value, node, index) for index, (key, value) in enumerate(node.value)]
    if isinstance(node, yaml.SequenceNode):
        return [Entry(None, value, node, index) for index, value in enumerate(node.value)]
    return []


def find(root: yaml.Node, path: Path) -> Entry:
    """Find the entry at a path; EditError when there is none."""
    here = Entry(None, root, None)
    for part in path:
        inside = entries(here.value)
        match = [item for item in inside if _is_at(item, part)]
        if not match:
            raise EditError(f"there is no {path_text(path)}")
        here = match[0]
    return here


def _is_at(entry: Entry, part: str | int) -> bool:
    if entry.key is None:
        return entry.index == part
    return bool(entry.key.value == part)
