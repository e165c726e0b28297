"""What the data must be after an edit, worked out beside the text so that the two can be compared."""

from __future__ import annotations

from typing import Any

from planner.inventory.editing.nodes import EditError
from planner.inventory.text.errors import InventoryError, Path
from planner.inventory.text.yaml_tree import parse


def value_of(written: str) -> Any:
    """Find the value that a written text stands for; EditError when it is none."""
    try:
        tree = parse(f"k: {written}", "the new value")
    except InventoryError as error:
        raise EditError(str(error)) from None
    if tree.problems:
        raise EditError(str(tree.problems[0]))
    if not isinstance(tree.data, dict) or set(tree.data) != {"k"}:
        raise EditError(f"{written} is no single value")
    return tree.data["k"]


def _changed(data: Any, path: Path, change: Any) -> Any:
    """Make data with the container at a path replaced by what ``change`` makes of it; the rest is shared."""
    if not path:
        return change(data)
    copied: Any = dict(data) if isinstance(data, dict) else list(data)
    copied[path[0]] = _changed(data[path[0]], path[1:], change)
    return copied


def with_value(data: Any, path: Path, value: Any) -> Any:
    """Make data with another value at a path."""
    return _changed(data, path, lambda _: value)


def with_renamed(data: Any, path: Path, name: str) -> Any:
    """Make data with another key for what stands at a path, in the same place."""
    last = path[-1]
    return _changed(
        data, path[:-1], lambda old: {(name if key == last else key): value for key, value in old.items()}
    )


def with_key(data: Any, path: Path, key: str, value: Any) -> Any:
    """Make data with a key more in the mapping at a path."""
    return _changed(data, path, lambda old: {**(old or {}), key: value})


def with_item(data: Any, path: Path, value: Any) -> Any:
    """Make data with a value more in the list at a path."""
    return _changed(data, path, lambda old: [*(old or []), value])


def without(data: Any, path: Path) -> Any:
    """Make data without what stands at a path."""
    last = path[-1]

    def cut(old: Any) -> Any:
        if isinstance(old, dict):
            return {key: value for key, value in old.items() if key != last}
        return [value for index, value in enumerate(old) if index != last]

    return _changed(data, path[:-1], cut)


def with_copy(data: Any, path: Path, key: str) -> Any:
    """Make data with a copy of an entry below it under another key."""

    def doubled(old: Any) -> Any:
        made: dict[str, Any] = {}
        for name, value in old.items():
            made[name] = value
            if name == path[-1]:
                made[key] = value
        return made

    return _changed(data, path[:-1], doubled)
