"""``stillroom verify FILE PLAN``."""

from __future__ import annotations

from pathlib import Path

import click

from planner.cli import output
from planner.cli.exit_codes import ExitCode
from planner.cli.inputs import file_argument, open_inventory, open_plan
from planner.report import verify_page
from planner.verify import verify_plan


@click.command("verify")
@file_argument
@click.argument("plan_file", metavar="PLAN", type=click.Path(path_type=Path))
@output.face_options
@click.pass_context
def command(ctx: click.Context, file: Path, plan_file: Path, as_json: bool, plain: bool) -> None:
    """Judge PLAN, made by 'stillroom plan -o', against the inventory FILE, without the solver.

    Ends with 0 when the plan keeps every rule and limit, with 2 when it breaks one.
    """
    site = open_inventory(file).site
    breaches = verify_plan(site, open_plan(site, plan_file))
    page = verify_page.verify_page(file.name, plan_file.name, breaches)
    if as_json:
        output.write_json(verify_page.verify_data(page))
    elif plain:
        output.write(verify_page.verify_plain(page), plain=True)
    else:
        output.write(verify_page.verify_lines(page))
    ctx.exit(ExitCode.BAD_INPUT if breaches else ExitCode.DONE)
