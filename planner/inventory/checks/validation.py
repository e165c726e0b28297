"""From plain data to checked sections: every mistake of form becomes a problem with line and repair."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from planner.inventory.checks.stand_ins import NOBODY, SECTIONS, filling, known_keys, stand_ins
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


@dataclass(frozen=True)
class Validated:
    """What was found of a file's form.

    ``models``: one of a file without mistakes. Else two, with values from either end of what could stand in
    the place of wrong ones: what is found in both comes from the file. None where too little remains.
    """

    models: tuple[InventoryModel, ...]
    problems: tuple[Problem, ...]


def validate(tree: Tree) -> Validated:
    """Check the form of a file, also of what can only be seen once wrong values are out of the way."""
    details = _mistakes(tree.data)
    if isinstance(details, InventoryModel):
        return Validated((details,), ())
    problems = _once([_problem(tree, tree.data, detail) for detail in details])
    low, high = (_mended(tree, details, end) for end in range(2))
    models = tuple(model for model in (low.models + high.models) if low.models and high.models)
    hidden = [problem for problem in low.problems if problem in high.problems]
    return Validated(models, tuple(_once([*problems, *hidden])))


def _mistakes(data: Any) -> InventoryModel | list[ErrorDetails]:
    try:
        return _without_stand_ins(InventoryModel.model_validate(data))
    except ValidationError as error:
        return error.errors(include_url=False)


def _mended(tree: Tree, details: list[ErrorDetails], end: int) -> Validated:
    """Put values from one end in the place of wrong ones, round by round, and collect what shows up then."""
    trial, found = _Trial(_copied(tree.data), end), list[Problem]()
    for _ in range(ROUNDS):
        trial.mend({_path(detail, trial.data) for detail in details})
        mended = _mistakes(trial.data)
        if isinstance(mended, InventoryModel):
            return Validated((mended,), tuple(found))
        details = mended
        new = [each for each in details if not trial.follows(_path(each, trial.data))]
        found += [_problem(tree, trial.data, detail) for detail in new]
    return Validated((), tuple(found))


@dataclass
class _Trial:
    """A file whose wrong values give way to ones from an end; what was told, tried, put in, and lost."""

    data: dict[str, Any]
    end: int
    told: set[Path] = field(default_factory=set)
    tried: set[Path] = field(default_factory=set)
    put_in: dict[Path, Any] = field(default_factory=dict)
    lost: set[Path] = field(default_factory=set)

    def follows(self, path: Path) -> bool:
        """Say whether a mistake may come from one before it: told already, or at what lost a part."""
        near = any(path[: len(each)] == each or each[: len(path)] == path for each in self.lost)
        return near or path in self.told

    def mend(self, paths: set[Path]) -> None:
        """Mend wrong places, deepest and last first; a section that is lost gets its stand-in."""
        for path in sorted(paths, key=_backwards, reverse=True):
            if not self._turn(path) and not self._fill(path) and not self._put_in(path):
                self._take_out(path)
        self.told |= paths
        self.data.update({key: section for key, section in SECTIONS.items() if key not in self.data})

    def _turn(self, path: Path) -> bool:
        """Take the other end of what was put in below a place that is wrong by it."""
        below = [each for each in self.put_in if each[: len(path)] == path and each != path]
        for each in below:
            other = self.put_in.pop(each)
            if _holds(self.data, each):
                _value(self.data, each[:-1])[each[-1]] = other
        return bool(below)

    def _fill(self, path: Path) -> bool:
        added = filling(path) if path not in self.tried and _holds(self.data, path) else {}
        here = _value(self.data, path) if added else None
        if not isinstance(here, dict):
            return False
        here.update({key: value for key, value in added.items() if key not in here})
        self.tried.add(path)
        return True

    def _put_in(self, path: Path) -> bool:
        values = stand_ins(path) if path not in self.tried and _holds(self.data, path[:-1]) else None
        parent: Any = _value(self.data, path[:-1]) if values is not None else None
        if values is None or not (isinstance(parent, dict) or _holds(self.data, path)):
            return False
        self.tried.add(path)
        parent[path[-1]] = values[self.end]
        self.put_in[path] = values[1 - self.end]
        return True

    def _take_out(self, path: Path) -> None:
        here = next((path[:n] for n in range(len(path), 0, -1) if _holds(self.data, path[:n])), ())
        if here:
            del _value(self.data, here[:-1])[here[-1]]
            if not _is_stray(here):
                self.lost.add(here)


def _is_stray(path: Path) -> bool:
    """Say whether a key is none of those that may stand there, nor a slip of one: nothing misses it."""
    keys = known_keys(path[:-1])
    return bool(keys) and path[-1] not in keys and not suggestion(path[-1], keys)


def _holds(data: Any, path: Path) -> bool:
    """Say whether something stands at a path."""
    here = data
    for part in path:
        inside = (isinstance(here, dict) and part in here) or (
            isinstance(here, list) and isinstance(part, int) and part < len(here)
        )
        if not inside:
            return False
        here = here[part]
    return True


def _value(data: Any, path: Path) -> Any:
    for part in path:
        data = data[part]
    return data


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
    value = _value(data, path) if _holds(data, path) else data
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
    keys = known_keys(path[:-1])
    if str(path[-1]).isdigit():
        return "Is it the rest of a decimal comma? Write a point."
    return suggestion(path[-1], keys) or f"Known keys: {', '.join(keys)}."


def _backwards(path: Path) -> list[tuple[bool, int, str]]:
    return [(isinstance(part, int), part if isinstance(part, int) else 0, str(part)) for part in path]
