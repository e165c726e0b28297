"""``stillroom moves FILE [PLAN]``."""

from __future__ import annotations

from pathlib import Path

import click

from planner.cli import output, solving
from planner.cli.errors import RefusedError
from planner.cli.exit_codes import ExitCode
from planner.cli.inputs import file_argument, open_inventory, open_plan
from planner.cli.no_plan import write_no_plan
from planner.moves import order
from planner.placement.solve import Options
from planner.plan import Plan
from planner.report import moves_page, moves_text
from planner.site import Aim, Site
from planner.verify import verify_plan


@click.command("moves")
@file_argument
@click.argument("plan_file", metavar="[PLAN]", required=False, type=click.Path(path_type=Path))
@solving.solve_options
@output.face_options
@click.pass_context
def command(
    ctx: click.Context,
    file: Path,
    plan_file: Path | None,
    time_s: float,
    seed: int,
    gap: float,
    aims: tuple[Aim, ...] | None,
    solver: str,
    as_json: bool,
    plain: bool,
) -> None:
    """Put the work in order: waves, each with its checks, its way back and what the room is like after it.

    PLAN is what 'stillroom plan -o' saved; without it, the site in FILE is planned first, with the options.
    Where no plan can be made, --json writes what 'stillroom plan --json' would.
    """
    site = open_inventory(file).site
    if plan_file is not None:
        plan, code = _checked(site, plan_file), ExitCode.DONE
    else:
        result = solving.run(site, Options(time_s=time_s, seed=seed, solver=solver, gap=gap, aims=aims))
        code = solving.CODES[result.outcome]
        if result.plan is None:
            write_no_plan(site, result, as_json)
            ctx.exit(code)
        plan = result.plan
    _write(site, plan, as_json, plain)
    ctx.exit(code)


def _checked(site: Site, file: Path) -> Plan:
    plan = open_plan(site, file)
    breaches = verify_plan(site, plan)
    if breaches:
        words = [f"{file.name}: {item.rule}, {item.where}: {item.message}" for item in breaches]
        raise RefusedError(f"{file.name} does not hold for this inventory; plan again", *words)
    return plan


def _write(site: Site, plan: Plan, as_json: bool, plain: bool) -> None:
    page = moves_page.moves_page(site, str(plan.outcome), order(site, plan.state))
    if as_json:
        output.write_json(moves_page.moves_data(page))
    elif plain:
        output.write(moves_text.moves_plain(page), plain=True)
    else:
        output.write(moves_text.moves_lines(page))
