"""``stillroom schema [WHAT]``."""

from __future__ import annotations

import click

from planner.cli import output
from planner.report.schemas import NAMES, schema_of


@click.command("schema")
@click.argument("what", type=click.Choice(["inventory", *NAMES]), default="inventory")
def command(what: str) -> None:
    """Print a JSON Schema (2020-12): of the inventory file, or of the JSON that a command writes."""
    if what != "inventory":
        output.write_json(schema_of(what))
        return
    from planner.inventory import schema

    output.write_json(schema())
