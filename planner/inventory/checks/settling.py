"""Refuses a room that would only grow hotter with what runs today, by today's heat balance."""

from __future__ import annotations

from planner.domain.site import Site
from planner.inventory.text.errors import Problem
from planner.inventory.text.yaml_tree import Tree
from planner.ledger import today_ledger
from planner.physics.heat import NeverSettlesError


def check_settling(site: Site, tree: Tree) -> tuple[Problem, ...]:
    """Compute today's ledger; a problem of the room where its temperature settles nowhere, else nothing."""
    try:
        today_ledger(site)
    except NeverSettlesError as error:
        repair = "Write heat_loss, leak, or what the cooling takes out: today's room does settle somewhere."
        return (tree.problem(("room",), f"{error}.", repair),)
    return ()
