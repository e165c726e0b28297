"""From plain data to checked sections: every mistake of form becomes a problem with line and repair."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from planner.inventory.models.root import InventoryModel
from planner.inventory.text.errors import Path, Problem, show
from planner.inventory.text.nearest import suggestion
from planner.inventory.text.units import UnitError
from planner.inventory.text.yaml_tree import Tree

ROUNDS = 8
UNKNOWN = "this key is not known."
MISSING = "this is missing."
SORTS = {"dict": "a mapping of keys to values", "list": "a list", "str": "text", "NoneType": "nothing"}
KEY_MARK = "[key]"
NOBODY = "\x00"
STAND_INS: Mapping[str, Any] = {
    "room": {"size": "1 x 1 x 1 m"},
    "listeners": {NOBODY: {"distance": "1 m"}},
    "supply": {"circuits": {NOBODY: {"breaker": "1 A"}}},
    "boxes": {NOBODY: {"cpu": 1, "memory": "0 GiB", "power": {"idle": "0 W"}}},
    "services": {NOBODY: {"box": NOBODY, "cpu": 0, "memory": "0 GiB", "disk": "0 GB"}},
}
"""Sections put in place of wrong ones so that the rest can still be checked; no file can hold that name."""


def validate(tree: Tree) -> tuple[InventoryModel | None, list[Problem]]:
    """Check the form of a file.

    Returns
    -------
    model, problems
        With mistakes, the model is what remains of the file without the wrong values, so that names and
        rules can still be checked; None when too little remains.
    """
    data = tree.data
    problems: list[Problem] = []
    for attempt in range(ROUNDS):
        try:
            return _without_stand_ins(InventoryModel.model_validate(data)), problems
        except ValidationError as error:
            details = error.errors(include_url=False)
        if attempt == 0:
            problems = _once([_problem(tree, data, detail) for detail in details])
            data = _copied(data)
        _prune(data, [_path(detail, data) for detail in details])
    return None, problems


def _without_stand_ins(model: InventoryModel) -> InventoryModel:
    """Make the model of what a person wrote: nobody is told of a thing that stands in no file."""
    sections = {name: getattr(model, name) for name in ("listeners", "boxes", "services")}
    circuits = _written(model.supply.circuits)
    supply = model.supply.model_copy(update={"circuits": circuits})
    written = {name: _written(section) for name, section in sections.items()}
    return model.model_copy(update={**written, "supply": supply})


def _written(section: Mapping[str, Any]) -> dict[str, Any]:
    return {name: item for name, item in section.items() if name != NOBODY}


def _once(problems: list[Problem]) -> list[Problem]:
    """Keep one of several problems that come from the same slip.

    A short form stands for two keys; a key written wrong is unknown under one name and missing under another.
    """
    places = {
        (each.file, each.path.rpartition(".")[0], each.repair) for each in problems if each.message == UNKNOWN
    }
    unique = {(each.file, each.line, each.path, each.message): each for each in problems}.values()
    return [each for each in unique if each.message != MISSING or _suggestion(each) not in places]


def _suggestion(problem: Problem) -> tuple[str, str, str]:
    parent, _, key = problem.path.rpartition(".")
    return problem.file, parent, suggestion(key, [key])


def _copied(data: Any) -> Any:
    """Copy what is to be pruned: mappings and lists; a file holds nothing else that could change."""
    if isinstance(data, dict):
        return {key: _copied(value) for key, value in data.items()}
    return [_copied(value) for value in data] if isinstance(data, list) else data


def _path(detail: ErrorDetails, data: Any) -> Path:
    """Look up where a mistake stands: a wrong name is marked by one more part, which may be a name itself."""
    path = detail["loc"]
    marked = path[-1:] == (KEY_MARK,) and KEY_MARK not in _value_at(data, path[:-1])
    return path[:-1] if marked else path


def _value_at(data: Any, path: Path) -> Any:
    parent, last = _deepest(data, path)
    value = data if last is None else parent[last]
    return value if isinstance(value, dict) else {}


def _problem(tree: Tree, data: Any, detail: ErrorDetails) -> Problem:
    path = _path(detail, data)
    original = detail.get("ctx", {}).get("error")
    if isinstance(original, UnitError):
        return tree.problem(tree.written(path), original.message, original.repair)
    if detail["type"] == "extra_forbidden":
        return tree.problem(path, UNKNOWN, _nearest_key(path))
    if detail["type"] == "missing":
        return tree.problem(path, MISSING, f"Add '{show(path[-1])}:'.")
    return tree.problem(path, *_wrong_sort(detail))


def _wrong_sort(detail: ErrorDetails) -> tuple[str, str]:
    kind = detail["type"]
    given = SORTS.get(type(detail["input"]).__name__, show(detail["input"]))
    if kind in ("model_type", "model_attributes_type", "mapping_type", "dict_type"):
        return f"{given} stands here.", "Write keys and values, indented below it."
    if kind in ("tuple_type", "list_type"):
        return f"{given} stands here.", "Write a list, such as [a, b]."
    if kind in ("too_short", "too_long"):
        least = detail.get("ctx", {}).get("min_length", 1)
        return "there are too few entries.", f"Write at least {least}."
    return f"{show(detail['msg'])}.", ""


def _nearest_key(path: Path) -> str:
    keys = _known_keys(path[:-1])
    if str(path[-1]).isdigit():
        return "Is it the rest of a decimal comma? Write a point."
    return suggestion(path[-1], keys) or f"Known keys: {', '.join(keys)}."


def _known_keys(path: Path) -> list[str]:
    """List the keys that may stand under a path, by walking the models along it."""
    model: Any = InventoryModel
    for part in path:
        model = _below(model, part)
    if isinstance(model, type) and issubclass(model, BaseModel):
        return [field.alias or name for name, field in model.model_fields.items()]
    return []


def _below(model: Any, part: str | int) -> Any:
    if isinstance(model, type) and issubclass(model, BaseModel):
        by_key = {field.alias or name: field for name, field in model.model_fields.items()}
        return _inner(by_key[part].annotation) if part in by_key else None
    arguments = get_args(model)
    return _inner(arguments[-1] if isinstance(part, str) else arguments[0]) if arguments else None


def _inner(annotation: Any) -> Any:
    """Take optional and marked types off, down to a model or a collection of models."""
    arguments = get_args(annotation)
    if not arguments or isinstance(annotation, type):
        return annotation
    origin = getattr(annotation, "__origin__", None)
    if origin in (tuple, list, dict) or origin is Mapping:
        return annotation
    return _inner(next(argument for argument in arguments if argument is not type(None)))


def _prune(data: dict[str, Any], paths: list[Path]) -> None:
    """Take the wrong values out, deepest and last first; a section that is lost gets its stand-in."""
    for path in sorted(set(paths), key=_backwards, reverse=True):
        parent, last = _deepest(data, path)
        if last is not None:
            del parent[last]
    data.update({key: section for key, section in STAND_INS.items() if key not in data})


def _backwards(path: Path) -> list[tuple[bool, int, str]]:
    return [(isinstance(part, int), part if isinstance(part, int) else 0, str(part)) for part in path]


def _deepest(data: Any, path: Path) -> tuple[Any, Any]:
    """Find the last container along a path that holds its next part, and that part."""
    parent, last, here = None, None, data
    for part in path:
        inside = (isinstance(here, dict) and part in here) or (
            isinstance(here, list) and isinstance(part, int) and part < len(here)
        )
        if not inside:
            break
        parent, last, here = here, part, here[part]
    return parent, last
