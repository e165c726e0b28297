"""The edge of the planner: a person's inventory file in, a resolved `Site` or a list of mistakes out."""

from __future__ import annotations

import os
from typing import Any

from planner.inventory.loaded import Default, Loaded
from planner.inventory.text.errors import InventoryError, Problem

__all__ = ["Default", "InventoryError", "Loaded", "Problem", "load", "load_text", "schema"]


def load(path: str | os.PathLike[str]) -> Loaded:
    """Read an inventory file.

    Raises
    ------
    InventoryError
        If the file cannot be used; it lists every mistake at once, each with file, line and repair.
    """
    # Imported here so that a command that reads no file starts without the schema library.
    from planner.inventory.loading import load_file

    return load_file(path)


def load_text(text: str, path: str | os.PathLike[str]) -> Loaded:
    """Read the text of an inventory that was not saved yet, as if it stood at ``path``.

    Raises InventoryError as `load` does; a catalogue file is looked for beside ``path``.
    """
    from pathlib import Path

    from planner.inventory.loading import load_text as load_text_at

    return load_text_at(text, Path(path))


def schema() -> dict[str, Any]:
    """Collect the JSON Schema (2020-12) of an inventory file, for editors."""
    from planner.inventory.loading import json_schema

    return json_schema()
