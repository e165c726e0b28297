"""Brings in a catalogue from a second file, beside the inventory."""

from __future__ import annotations

from pathlib import Path as FilePath

from planner.inventory.text.errors import InventoryError, show
from planner.inventory.text.yaml_tree import Tree, parse, read_text

KEY = "catalogue"
FILE_KEY = "catalogue_file"


def add_catalogue(tree: Tree, folder: FilePath) -> None:
    """Add the entries of ``catalogue_file`` to a tree that holds a mapping; mistakes join its problems."""
    name = tree.data.get(FILE_KEY)
    if not isinstance(name, str):
        return
    if FilePath(name).is_absolute() or ".." in FilePath(name).parts:
        tree.problems.append(
            tree.problem((FILE_KEY,), f"{show(name)} leaves the folder.", "Name a file beside the inventory.")
        )
        return
    try:
        other = parse(read_text(folder / name), name)
    except InventoryError as error:
        reasons = " ".join(str(problem) for problem in error.problems)
        tree.problems.append(tree.problem((FILE_KEY,), f"the catalogue cannot be read: {reasons}"))
        return
    _merge(tree, other)


def _merge(tree: Tree, other: Tree) -> None:
    tree.problems += other.problems
    kinds = other.data.get(KEY) if isinstance(other.data, dict) else None
    if not isinstance(kinds, dict) or set(other.data) != {KEY}:
        tree.problems.append(other.problem((), "a catalogue file holds one section, 'catalogue:'."))
        return
    own = tree.data.setdefault(KEY, {})
    if not isinstance(own, dict):
        return
    twice = sorted(set(own) & set(kinds))
    tree.problems += [
        other.problem((KEY, name), "this kind is in both files.", "Keep one.") for name in twice
    ]
    own.update({name: kind for name, kind in kinds.items() if name not in own})
    tree.places.update(
        {path: place for path, place in other.places.items() if path and path not in tree.places}
    )
