"""JSON data of documents: written from frozen dataclasses, read back by TypeAdapter (pydantic), with places.

Why so: what is read back are small classes of their own, not the pages: a page may gain fields without any
older file becoming unreadable, and a person may change what nobody reads.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Annotated, Any, ClassVar, TypeVar, cast

from pydantic import AfterValidator, ConfigDict, StrictInt, TypeAdapter, ValidationError, ValidationInfo
from pydantic_core import ErrorDetails, PydanticCustomError

from planner.domain.site import Site
from planner.inventory.text.errors import path_text
from planner.inventory.text.nearest import nearest

Content = TypeVar("Content")
Place = tuple[str | int, ...]
"""Keys and list positions from the top of the data down to a value."""

INFINITE = "this is no finite number; make the file again, or put the number right"
UNKNOWN_NAME = "unknown_name"
KEY = "[key]"
"""What pydantic puts at the end of a place that is a key, and not the value under it."""

EXPECTED: Mapping[str, str] = {
    "bool_type": "true or false",
    "dataclass_type": "an object",
    "datetime_type": "a text",
    "dict_type": "an object",
    "enum": "a text",
    "float_type": "a number",
    "int_type": "a whole number",
    "string_type": "a text",
    "string_unicode": "a text of whole characters",
    "tuple_type": "a list",
}
"""What pydantic's error types say was expected."""


_ADAPTERS: dict[type[Any], TypeAdapter[Any]] = {}


class PlanFileError(Exception):
    """A file cannot be used; ``where`` is the path of the value in it."""

    def __init__(self, where: str, message: str) -> None:
        super().__init__(f"{where}: {message}" if where else message)
        self.where = where
        self.message = message


class UnknownNameError(PlanFileError):
    """A file names something that the site does not have."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Document:
    """What a command writes with ``--json``: the fields of the class, and nothing else."""

    __pydantic_config__: ClassVar[ConfigDict] = ConfigDict(extra="forbid")


def document_data(document: Document) -> dict[str, Any]:
    """Turn a document into JSON data."""
    return {item.name: data_of(getattr(document, item.name)) for item in dataclasses.fields(document)}


def data_of(value: Any) -> Any:
    """Turn frozen dataclasses into lists and dicts, as JSON has them."""
    if dataclasses.is_dataclass(value):
        return {item.name: data_of(getattr(value, item.name)) for item in dataclasses.fields(value)}
    if isinstance(value, tuple | list):
        return [data_of(item) for item in value]
    if isinstance(value, dict):
        return {key: data_of(item) for key, item in value.items()}
    return value


def adapter_of(kind: type[Content]) -> TypeAdapter[Content]:
    """Look up what validates and describes a class; made when first asked for, since that takes time."""
    if kind not in _ADAPTERS:
        _ADAPTERS[kind] = TypeAdapter(kind)
    return _ADAPTERS[kind]


@dataclasses.dataclass(frozen=True)
class _Head:
    format: str
    version: StrictInt


def check_head(data: object, form: str, version: int, repair: str) -> None:
    """Check that data is a document of a form and version without any number that is none.

    Raises
    ------
    PlanFileError
        If it is not; ``repair`` says what to do then.
    """
    _refuse_infinite(data)
    head = read_as(_Head, data)
    if head.format != form:
        raise PlanFileError("format", f"this is no {form} file of version {version}; {repair}")
    if head.version != version:
        raise PlanFileError("version", f"only version {version} can be read; {repair}")


def read_as(kind: type[Content], data: object, site: Site | None = None) -> Content:
    """Validate data as a class of what is read, its names against the site.

    Raises
    ------
    PlanFileError
        If a value is missing, of another type, or names something that the site does not have.
    """
    try:
        return adapter_of(kind).validate_python(data, context=site)
    except ValidationError as error:
        raise _told(error.errors(include_url=False)[0]) from None


def read_known(kind: type[Content], data: object, site: Site) -> tuple[Content, tuple[UnknownNameError, ...]]:
    """Validate data as `read_as` does, but leave out what names something that the site does not have.

    A list loses the name, an object the key that is one, and a list the object with such a name in it.
    """
    try:
        return adapter_of(kind).validate_python(data, context=site), ()
    except ValidationError as error:
        told = [(_goes(item["loc"]), _told(item)) for item in error.errors(include_url=False)]
    places = {place for place, _ in told}
    dropped: dict[Place, UnknownNameError] = {}
    for place, problem in told:
        if not isinstance(problem, UnknownNameError):
            raise problem from None
        if not any(place[:depth] in places for depth in range(len(place))):
            dropped.setdefault(place, problem)
    return read_as(kind, _without(data, dropped), site), tuple(dropped.values())


def known(sort: str, names_of: Callable[[Site], Collection[str]]) -> AfterValidator:
    """Build the check that a text is the name of something of a sort that the site has."""

    def check(name: str, info: ValidationInfo) -> str:
        names = names_of(cast("Site", info.context))
        if name in names:
            return name
        near = nearest(name, names)
        hint = f"; did you mean {near!r}?" if near is not None else ""
        words = f"the inventory has no {sort} called {name!r}{hint}"
        raise PydanticCustomError(UNKNOWN_NAME, "{words}", {"words": words})

    return AfterValidator(check)


BoxName = Annotated[str, known("box", lambda site: site.box)]
CircuitName = Annotated[str, known("circuit", lambda site: site.circuit)]
CoolingName = Annotated[str, known("cooling option", lambda site: site.cooling_option)]
KindName = Annotated[str, known("kind", lambda site: site.kind)]
ListenerName = Annotated[str, known("listener", lambda site: [item.name for item in site.listeners])]
MeasureName = Annotated[str, known("measure", lambda site: site.measure)]
SeasonName = Annotated[str, known("season", lambda site: [item.name for item in site.seasons])]
ServiceName = Annotated[str, known("service", lambda site: site.service)]


def _told(error: ErrorDetails) -> PlanFileError:
    """Say what pydantic found, in the words of whoever has the file in front of them."""
    sort, value = error["type"], error["input"]
    where = path_text(tuple(part for part in error["loc"] if part != KEY))
    if sort == UNKNOWN_NAME:
        return UnknownNameError(where, error["msg"])
    if sort == "missing":
        return PlanFileError(where, "this is missing")
    if sort == "enum" and isinstance(value, str):
        return PlanFileError(where, f"{value!r} is none of {error['ctx']['expected']}")
    if sort in EXPECTED:
        return PlanFileError(where, f"expected {EXPECTED[sort]}, found {_sort(value)}")
    if sort == "value_error":
        return PlanFileError(where, str(error["ctx"]["error"]))
    return PlanFileError(where, error["msg"])


def _goes(place: Place) -> Place:
    """Find what has to go with an unknown name: the name in a list, the key, or the object it stands in."""
    return place if isinstance(place[-1], int) else place[:-1]


def _without(data: Any, places: Iterable[Place]) -> Any:
    """Copy data without the values at some places."""
    inside = {place[0] for place in places}
    here = {place[0] for place in places if len(place) == 1}

    def part(key: str | int, value: Any) -> Any:
        deeper = [place[1:] for place in places if place[0] == key]
        return _without(value, deeper) if key in inside else value

    if isinstance(data, dict):
        return {key: part(key, value) for key, value in data.items() if key not in here}
    return [part(index, value) for index, value in enumerate(data) if index not in here]


def _refuse_infinite(data: object) -> None:
    """Search some data for a number that is none, or past all measure; PlanFileError gives its place."""
    left: list[tuple[Place, object]] = [((), data)]
    while left:
        place, value = left.pop()
        if isinstance(value, dict):
            left += [((*place, str(key)), item) for key, item in value.items()]
        elif isinstance(value, list):
            left += [((*place, index), item) for index, item in enumerate(value)]
        elif isinstance(value, int | float) and not _is_finite(value):
            raise PlanFileError(path_text(place), INFINITE)


def _is_finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:
        return False


def _sort(value: object) -> str:
    names = {type(None): "null", bool: "true or false", str: "a text", list: "a list", dict: "an object"}
    return names.get(type(value), "a number")
