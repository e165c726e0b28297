"""Loads a file: read, check the form, check what the parts say about each other, then make the site."""

from __future__ import annotations

import os
from pathlib import Path as FilePath
from typing import Any

from planner.inventory.catalogue import add_catalogue
from planner.inventory.checks.consistency import check_model
from planner.inventory.checks.references import check_references
from planner.inventory.checks.settling import check_settling
from planner.inventory.checks.validation import Validated, validate
from planner.inventory.checks.warnings import find_doubts
from planner.inventory.loaded import Loaded
from planner.inventory.models.root import InventoryModel
from planner.inventory.resolve.calibration import calibrated
from planner.inventory.resolve.recorder import Recorder
from planner.inventory.resolve.site import resolve_site
from planner.inventory.samples import add_samples
from planner.inventory.text.conversions import collect_conversions, locate_conversions
from planner.inventory.text.errors import InventoryError, Problem, show
from planner.inventory.text.yaml_tree import Tree, parse, read_text

SCHEMA_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def load_file(path: str | os.PathLike[str]) -> Loaded:
    """Read an inventory file; see `planner.inventory.load`."""
    place = FilePath(path)
    return load_text(read_text(place), place)


def load_text(text: str, place: FilePath) -> Loaded:
    """Read the text of an inventory that stands, or will stand, at a place; InventoryError as for a file."""
    tree = parse(text, place.name)
    if not isinstance(tree.data, dict):
        problem = tree.problem((), "the file must hold sections.", "Begin with a section such as 'room:'.")
        raise InventoryError((*tree.problems, problem))
    add_catalogue(tree, place.parent)
    taken = add_samples(tree, place.parent)
    with collect_conversions() as notes:
        form = validate(tree)
    problems = [*tree.problems, *form.problems, *check_references(tree), *_contradictions(form, tree)]
    if problems:
        raise InventoryError(_in_order(problems, place.name))
    model = form.models[0]
    recorder = Recorder()
    site = calibrated(resolve_site(model, show(place.stem), recorder), model.readings, recorder)
    unsettled = check_settling(site, tree)
    if unsettled:
        raise InventoryError(unsettled)
    doubts = find_doubts(model, site, tree)
    return Loaded(site, (*recorder.defaults, *taken), doubts, locate_conversions(notes, tree))


def _contradictions(form: Validated, tree: Tree) -> list[Problem]:
    """List what the parts of a file contradict each other in, whatever stood in the place of wrong values."""
    found = [check_model(model, tree) for model in form.models]
    return [each for each in found[0] if each in found[-1]] if found else []


def _in_order(problems: list[Problem], main: str) -> tuple[Problem, ...]:
    unique = dict.fromkeys(problems)
    return tuple(sorted(unique, key=lambda problem: (problem.file != main, problem.file, problem.line or 0)))


def json_schema() -> dict[str, Any]:
    """Collect the JSON Schema of an inventory file."""
    described = InventoryModel.model_json_schema(by_alias=True)
    return {"$schema": SCHEMA_DIALECT, **described, "title": "Stillroom inventory"}
