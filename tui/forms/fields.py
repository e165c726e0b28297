"""What fields an entry of the inventory has, how each is typed, and what is wrong with what was typed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from planner.domain.hazards import TEXTS
from planner.domain.measures import ROOM
from planner.inventory.checks.references import REFERENCES, SEASONS_DEFAULT
from planner.inventory.editing import Document, EditError, bare_scalar, flow, text_scalar
from planner.inventory.editing.expected import value_of
from planner.inventory.editing.nodes import find
from planner.inventory.text.errors import Path, path_text
from planner.inventory.text.nearest import suggestion
from planner.inventory.text.units import UnitError

LEAST_PROFILE = 2


class Sort(StrEnum):
    """How a field is typed."""

    TEXT = "text"
    FIGURE = "figure"
    CHOICE = "choice"
    NAMES = "names"
    PROFILE = "profile"
    RAW = "raw"


@dataclass(frozen=True)
class Field:
    """One field of an entry; ``path`` is relative to the entry."""

    path: Path
    sort: Sort
    help: str
    required: bool
    choices: tuple[str, ...]
    example: str
    adapter: TypeAdapter[Any]
    known: tuple[str, ...] = ()
    default: str = ""

    @property
    def label(self) -> str:
        """The name by which the file calls it."""
        return path_text(self.path)


@cache
def fields_of(model: type[BaseModel], prefix: Path = ()) -> tuple[Field, ...]:
    """List the fields of a section's entries, with those of the sections inside it."""
    return tuple(field for name, info in model.model_fields.items() for field in _fields(name, info, prefix))


def _fields(name: str, info: FieldInfo, prefix: Path) -> Iterator[Field]:
    path = (*prefix, info.alias or name)
    inner = _model_in(info.annotation)
    if inner is not None:
        yield from fields_of(inner, path)
        return
    adapter = _adapter(info)
    schema = _schema(adapter)
    sort, choices = _sort(schema)
    required = info.is_required() and not prefix
    example = _example(schema)
    yield Field(path, sort, info.description or "", required, choices, example, adapter)


def _example(schema: Mapping[str, Any]) -> str:
    forms = [schema, *(schema.get("anyOf") or ())]
    return next((str(example) for form in forms for example in form.get("examples", ())), "")


def _adapter(info: FieldInfo) -> TypeAdapter[Any]:
    annotated: Any = Annotated
    whole: Any = annotated[(info.annotation, *info.metadata)] if info.metadata else info.annotation
    return TypeAdapter(whole)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    optional = get_args(annotation) if get_origin(annotation) in (Union, UnionType) else ()
    for part in (annotation, *optional):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return part
    return None


def _schema(adapter: TypeAdapter[Any]) -> dict[str, Any]:
    schema = adapter.json_schema(by_alias=True)
    options = [item for item in schema.get("anyOf", ()) if item.get("type") != "null"]
    return {**schema, **options[0], "anyOf": ()} if len(options) == 1 else schema


def _sort(schema: Mapping[str, Any]) -> tuple[Sort, tuple[str, ...]]:
    if "enum" in schema:
        return Sort.CHOICE, tuple(str(word) for word in schema["enum"])
    kind = schema.get("type")
    if kind == "boolean":
        return Sort.CHOICE, ("yes", "no")
    if kind == "array":
        items = schema.get("items", {})
        named = "enum" in items or items == {"type": ["string", "number"]}
        return (Sort.NAMES if named else Sort.RAW), tuple(items.get("enum", ()))
    if kind == "object" or "$ref" in schema or "additionalProperties" in schema:
        return Sort.RAW, ()
    forms = schema.get("anyOf") or ()
    if any(form.get("type") == "array" for form in forms):
        return Sort.PROFILE, ()
    is_words = kind in (["string", "boolean"], "string") and not schema.get("examples")
    is_name = kind == ["string", "number"] and not schema.get("examples")
    return (Sort.TEXT if is_words or is_name else Sort.FIGURE), ()


def with_known(fields: tuple[Field, ...], document: Document, entry: Path) -> tuple[Field, ...]:
    """List fields that know the names they may point at, and are written as the entry writes them."""
    whole: dict[Path, Field] = {}
    for field in fields:
        parent = field.path[:1]
        held = document.get((*entry, *parent))
        if len(field.path) > 1 and held is not None and not isinstance(held, dict):
            field = replace(field, path=parent, sort=Sort.RAW, choices=(), adapter=TypeAdapter(Any))
        whole.setdefault(field.path, replace(field, known=_known(document, (*entry, *field.path))))
    return tuple(whole.values())


def _known(document: Document, path: Path) -> tuple[str, ...]:
    for reference in REFERENCES:
        pattern = reference.pattern
        if len(pattern) - len(path) in (0, 1) and all(
            want in ("*", part) for want, part in zip(pattern, path, strict=False)
        ):
            return tuple(name for section in reference.sections for name in _names(document, section))
    return ()


def _names(document: Document, section: str) -> list[str]:
    if section == "circuits":
        return list(document.get(("supply", "circuits")) or {})
    if section == "cautions":
        return list(TEXTS)
    if section == "seasons":
        return list(document.get(("seasons",)) or SEASONS_DEFAULT)
    return [section] if section == ROOM else list(document.get((section,)) or {})


def shown(document: Document, path: Path) -> str:
    """Write the value at a path as a person would type it; '' where there is none."""
    value = document.get(path)
    if value is None:
        return ""
    if isinstance(value, dict):
        return flow(value)
    if isinstance(value, list):
        items = [_shown_scalar(document, (*path, index)) for index in range(len(value))]
        return flow(value) if None in items else ", ".join(item for item in items if item is not None)
    return _shown_scalar(document, path) or ""


def _shown_scalar(document: Document, path: Path) -> str | None:
    value = find(document.root, path).value.value
    return value if isinstance(value, str) else None


def written(field: Field, typed: str) -> str | None:
    """Say what was typed as it is to stand in the file; None for nothing, which leaves the default."""
    text = typed.strip()
    if not text:
        return None
    parts = [part.strip() for part in text.split(",") if part.strip()]
    if field.sort is Sort.RAW:
        return text
    if field.sort is Sort.NAMES:
        return flow(parts)
    if field.sort is Sort.PROFILE and len(parts) >= LEAST_PROFILE:
        return "[" + ", ".join(bare_scalar(part) for part in parts) + "]"
    if field.path == ("stay_physical",) and text.lower() == "no":
        return "no"
    return text_scalar(text) if field.sort is Sort.TEXT else bare_scalar(text)


def mistake(field: Field, typed: str) -> str:
    """Say what is wrong with what was typed, and how to put it right; '' when nothing is."""
    text = written(field, typed)
    if text is None:
        return "this is needed." if field.required else ""
    try:
        value = value_of(text)
        field.adapter.validate_python(value)
    except EditError as error:
        return str(error)
    except ValidationError as error:
        return _first_words(error)
    return _stranger(field, value)


def _first_words(error: ValidationError) -> str:
    first = error.errors(include_url=False)[0]
    original = first.get("ctx", {}).get("error")
    if isinstance(original, UnitError):
        return f"{original.message} {original.repair}"
    return str(first["msg"])


def _stranger(field: Field, value: Any) -> str:
    if not field.known or field.sort not in (Sort.NAMES, Sort.TEXT):
        return ""
    for name in value if isinstance(value, list) else [value]:
        if str(name) not in field.known:
            return f"there is no {name}. {suggestion(name, field.known)}".rstrip()
    return ""
