"""Looks up values that take the place of wrong ones, so that the rest of a file is checked in the same go.

There are two of each, from the ends of what could have stood there: a mistake that only one of them brings
comes from the value, not from the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, get_args

from pydantic import BaseModel, WithJsonSchema

from planner.inventory.models.machines import BoxModel, GearModel, KindModel, PowerModel
from planner.inventory.models.places import CoolingModel, ListenerModel
from planner.inventory.models.root import InventoryModel
from planner.inventory.models.services import ServiceModel
from planner.inventory.text.errors import Path
from planner.inventory.text.units import Dimension

NOBODY = "\x00"
SECTIONS: Mapping[str, Any] = {
    "room": {"size": "1 x 1 x 1 m"},
    "listeners": {NOBODY: {"distance": "1 m"}},
    "supply": {"circuits": {NOBODY: {"breaker": "1 A"}}},
    "boxes": {NOBODY: {"cpu": 1, "memory": "0 GiB", "power": {"idle": "0 W"}}},
    "services": {NOBODY: {"box": NOBODY, "cpu": 0, "memory": "0 GiB", "disk": "0 GB"}},
}
"""Sections in place of those that are lost; no file can hold that name."""

FILLINGS: Mapping[Any, Mapping[str, Any]] = {
    BoxModel: {"cpu": 1},
    KindModel: {"cpu": 1},
    ServiceModel: {"cpu": 0},
    GearModel: {"sort": "switch"},
    CoolingModel: {"power": "0 W"},
    ListenerModel: {"distance": "1 m"},
}
"""What a mapping is filled up with that lacks one of several keys."""


def known_keys(path: Path) -> list[str]:
    """List the keys that may stand under a path."""
    model = _model_at(path)
    return list(_fields(model)) if _is_model(model) else []


def filling(path: Path) -> Mapping[str, Any]:
    """Look up what the mapping at a path may be filled up with."""
    return FILLINGS.get(_model_at(path), {})


def stand_ins(path: Path) -> tuple[Any, Any] | None:
    """Look up two values for a path, None where no value is known to be right there."""
    marks = list(_marks_at(path))
    for mark in marks:
        if isinstance(mark, Dimension):
            return mark.ends()
    for mark in marks:
        if isinstance(mark, WithJsonSchema) and mark.json_schema is not None:
            words = mark.json_schema.get("enum") or mark.json_schema.get("examples")
            if words:
                return words[0], words[-1]
        if mark is PowerModel:
            return {"idle": "0 W"}, {"idle": "0 W"}
    return None


def _is_model(model: Any) -> bool:
    return isinstance(model, type) and issubclass(model, BaseModel)


def _fields(model: Any) -> dict[str, Any]:
    return {field.alias or name: field for name, field in model.model_fields.items()}


def _marks_at(path: Path) -> Iterator[Any]:
    """List what the type of a value is marked with, and the type."""
    parent, last = _model_at(path[:-1]), path[-1]
    if _is_model(parent):
        field = _fields(parent).get(str(last))
        if field is not None:
            yield from field.metadata
            yield from _marks(field.annotation)
    else:
        yield from _marks(_of_entries(parent, last))


def _marks(annotation: Any) -> Iterator[Any]:
    yield from getattr(annotation, "__metadata__", ())
    yield annotation
    if not _is_collection(annotation):
        for argument in get_args(annotation):
            yield from _marks(argument)


def _model_at(path: Path) -> Any:
    """Walk the models along a path."""
    model: Any = InventoryModel
    for part in path:
        if _is_model(model):
            field = _fields(model).get(str(part))
            model = _inner(field.annotation) if field is not None else None
        else:
            model = _inner(_of_entries(model, part))
    return model


def _of_entries(collection: Any, part: str | int) -> Any:
    arguments = get_args(collection)
    return (arguments[-1] if isinstance(part, str) else arguments[0]) if arguments else None


def _is_collection(annotation: Any) -> bool:
    return getattr(annotation, "__origin__", None) in (tuple, list, dict, Mapping)


def _inner(annotation: Any) -> Any:
    """Take optional and marked types off, down to a model or a collection of models."""
    arguments = get_args(annotation)
    if not arguments or isinstance(annotation, type) or _is_collection(annotation):
        return annotation
    return _inner(next(argument for argument in arguments if argument is not type(None)))
