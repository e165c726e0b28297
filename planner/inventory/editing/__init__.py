"""Edits an inventory's text in place: comments, order and spacing stay, only what was changed changes."""

from planner.inventory.editing.document import Document, add_rule
from planner.inventory.editing.nodes import EditError
from planner.inventory.editing.renaming import rename
from planner.inventory.editing.saving import ChangedError, SaveError, digest, save, save_beside
from planner.inventory.editing.writing import bare_scalar, flow, text_scalar

__all__ = [
    "ChangedError",
    "Document",
    "EditError",
    "SaveError",
    "add_rule",
    "bare_scalar",
    "digest",
    "flow",
    "rename",
    "save",
    "save_beside",
    "text_scalar",
]
