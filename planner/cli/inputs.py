"""Reads what a command is given: inventories and plan files, with mistakes in the person's words."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from planner.cli.errors import RefusedError
from planner.cli.group import say
from planner.domain.site import Site
from planner.inventory import InventoryError, Loaded, load

if TYPE_CHECKING:
    from planner.domain.order import WrittenOrder
    from planner.domain.plan import Plan
    from planner.domain.state import State

MOST_BYTES = 16 * 1024 * 1024
Function = TypeVar("Function", bound=Callable[..., Any])


def file_argument(function: Function) -> Function:
    """Add the argument FILE, an inventory."""
    return click.argument("file", type=click.Path(path_type=Path))(function)


def open_inventory(file: Path) -> Loaded:
    """Read an inventory; RefusedError with all its mistakes when it cannot be used."""
    try:
        return load(file)
    except InventoryError as error:
        raise refusal(error) from None


def refusal(error: InventoryError) -> RefusedError:
    """Turn the mistakes of an inventory into the end of a command."""
    return RefusedError(*(str(problem) for problem in error.problems))


def open_plan(site: Site, file: Path) -> Plan:
    """Read a plan file; RefusedError when it is none or does not belong to the site."""
    return open_plan_and_data(site, file)[0]


def open_plan_and_data(site: Site, file: Path) -> tuple[Plan, dict[str, Any]]:
    """Read a plan file as `open_plan` does, and all that stands in it."""
    # Here, for what reads plans knows the solver, and who only opens an inventory need not wait for that.
    from planner.report.plan import json_file

    data = _json_of(file, "plan")
    try:
        plan = json_file.read(site, data)
    except json_file.PlanFileError as error:
        raise RefusedError(f"{file.name}: {error}") from None
    assert isinstance(data, dict)
    return plan, data


def open_last_state(site: Site, file: Path) -> State:
    """Read the state to plan again from, and say what it names that the inventory no longer has."""
    from planner.report.plan import json_file

    data = _json_of(file, "plan")
    try:
        state, dropped = json_file.read_last(site, data)
    except json_file.PlanFileError as error:
        raise RefusedError(f"{file.name}: {error}") from None
    for gone in dropped:
        say(f"{file.name}: {gone}; planned without it")
    return state


def open_checked_plan(site: Site, file: Path) -> Plan:
    """Read a plan file whose plan the judge lets pass; RefusedError says what it breaks."""
    from planner.verify import verify_plan

    plan = open_plan(site, file)
    breaches = verify_plan(site, plan)
    if breaches:
        words = [f"{file.name}: {item.rule}, {item.where}: {item.message}" for item in breaches]
        raise RefusedError(f"{file.name} does not hold for this inventory; plan again", *words)
    return plan


def open_order(site: Site, file: Path) -> WrittenOrder:
    """Read an order of moves from JSON; RefusedError when it is none or does not belong to the site."""
    from planner.report.moves.reader import read_order
    from planner.report.plan import json_file

    data = _json_of(file, "order")
    try:
        return read_order(site, data)
    except json_file.PlanFileError as error:
        raise RefusedError(f"{file.name}: {error}") from None


def _json_of(file: Path, sort: str) -> object:
    try:
        with file.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise RefusedError(f"{file.name or file}: the {sort} file cannot be read: {reason}") from None
    if len(raw) > MOST_BYTES:
        raise RefusedError(f"{file.name}: the {sort} file is larger than 16 MiB")
    try:
        return json.loads(raw.decode("utf-8"))
    except (UnicodeDecodeError, RecursionError):
        raise RefusedError(f"{file.name}: this is no JSON text") from None
    except json.JSONDecodeError as error:
        raise RefusedError(f"{file.name}:{error.lineno}: this is no JSON text: {error.msg}") from None
    except ValueError as error:
        raise RefusedError(f"{file.name}: this is no JSON text: {error}") from None
