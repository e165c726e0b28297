"""Which form fits which part of the file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pydantic import BaseModel, TypeAdapter

from planner.inventory import Default
from planner.inventory.editing import Document
from planner.inventory.models.machines import BoxModel, GearModel, KindModel
from planner.inventory.models.measures import MeasureModel
from planner.inventory.models.places import CoolingModel, ListenerModel, RoomModel, SupplyModel
from planner.inventory.models.root import PolicyModel
from planner.inventory.models.services import GroupRule, QuorumRule, ServiceModel
from planner.inventory.models.types import Name
from planner.inventory.text.errors import Path, path_text
from tui.forms.fields import Field, Sort, fields_of, shown, with_known

MODELS: dict[str, type[BaseModel]] = {
    "services": ServiceModel,
    "boxes": BoxModel,
    "gear": GearModel,
    "catalogue": KindModel,
    "cooling": CoolingModel,
    "measures": MeasureModel,
    "listeners": ListenerModel,
}
SINGLE: dict[str, type[BaseModel]] = {"policy": PolicyModel, "room": RoomModel, "supply": SupplyModel}
WORDS = {
    "services": "service",
    "boxes": "box",
    "gear": "gear",
    "catalogue": "kind to buy",
    "cooling": "cooling option",
    "measures": "measure",
    "listeners": "listener",
}
Filled = tuple[Field, str | None]


def model_of(path: Path) -> type[BaseModel] | None:
    """Find the model of the entry at a path, None when no form fits it."""
    if len(path) == 1:
        return SINGLE.get(str(path[0]))
    if len(path) == 2:
        return MODELS.get(str(path[0]))
    if len(path) == 3 and path[0] == "rules":
        return QuorumRule if path[1] == "quorum" else GroupRule
    return None


def form_fields(
    document: Document, paths: Sequence[Path], only: Sequence[Path] = (), defaults: Sequence[Default] = ()
) -> list[Filled]:
    """List the fields of entries with what they hold; None where several entries differ.

    ``defaults`` are those taken when the text was read: a field of a single entry tells its own.
    """
    model = model_of(paths[0])
    if model is None or any(model_of(path) is not model for path in paths):
        return []
    fields = with_known(fields_of(model), document, paths[0])
    taken = {item.path: item.value for item in defaults} if len(paths) == 1 else {}
    wanted = [
        replace(field, default=taken.get(path_text((*paths[0], *field.path)), ""))
        for field in fields
        if not only or field.path in only
    ]
    return [(field, _common(document, paths, field)) for field in wanted]


def _common(document: Document, paths: Sequence[Path], field: Field) -> str | None:
    found = {shown(document, (*path, *field.path)) for path in paths}
    return found.pop() if len(found) == 1 else None


def name_field(known: Sequence[str] = ()) -> Field:
    """Make the field for the name of a new entry."""
    help_words = "Name of the new entry; no other entry may have it."
    return Field(("name",), Sort.TEXT, help_words, True, (), "", TypeAdapter(Name), tuple(known))


def new_fields(document: Document, section: str) -> list[Filled]:
    """List the fields of a new entry: its name, what is needed, then the rest."""
    fields = with_known(fields_of(MODELS[section]), document, (section, ""))
    ranked = sorted(fields, key=lambda field: not field.required)
    return [(name_field(), ""), *((field, "") for field in ranked)]


def because_fields(services: Sequence[str], word: str) -> list[Filled]:
    """List the fields of a new rule for services that are chosen already."""
    model = QuorumRule if word == "quorum" else GroupRule
    fields = [replace(field, known=()) for field in fields_of(model)]
    starts = {"services": ", ".join(services), "physical": "1", "because": ""}
    return [(field, starts[field.label]) for field in fields]
