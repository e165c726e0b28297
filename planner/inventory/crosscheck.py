"""Checks of what the parts of a file say about each other."""

from __future__ import annotations

from planner.inventory.errors import Problem
from planner.inventory.models.root import InventoryModel
from planner.inventory.reader import Tree


def check_model(model: InventoryModel, tree: Tree) -> list[Problem]:
    """Give the contradictions in a file."""
    return []


def doubts(model: InventoryModel, tree: Tree) -> list[Problem]:
    """Give what is allowed but worth a look."""
    return []
