"""``stillroom verify FILE PLAN [--order ORDER]``."""

from __future__ import annotations

from pathlib import Path

import click

from planner.cli import output
from planner.cli.exit_codes import ExitCode
from planner.cli.inputs import file_argument, open_inventory, open_order, open_plan
from planner.report import verify_page
from planner.verify import verify_order, verify_plan


@click.command("verify")
@file_argument
@click.argument("plan_file", metavar="PLAN", type=click.Path(path_type=Path))
@click.option(
    "--order",
    "order_file",
    metavar="ORDER",
    type=click.Path(path_type=Path),
    help="Judge an order too, that 'moves --json' wrote.",
)
@output.face_options
@click.pass_context
def command(
    ctx: click.Context, file: Path, plan_file: Path, order_file: Path | None, as_json: bool, plain: bool
) -> None:
    """Judge PLAN, made by 'stillroom plan -o', against the inventory FILE, without the solver.

    With --order the order of its moves is walked step by step: each state on the way must keep every limit,
    the way back must stay open until its deadline, and the figures must be what the room adds up to. Ends
    with 0 when all is kept, with 2 when a rule is broken. An order of a broken plan is not walked.
    """
    site = open_inventory(file).site
    plan = open_plan(site, plan_file)
    breaches = verify_plan(site, plan)
    judged = None
    if order_file is not None and not breaches:
        judged = order_file.name
        breaches = verify_order(site, plan.state, open_order(site, order_file))
    page = verify_page.verify_page(file.name, plan_file.name, breaches, judged)
    if as_json:
        output.write_json(verify_page.verify_data(page))
    elif plain:
        output.write(verify_page.verify_plain(page), plain=True)
    else:
        output.write(verify_page.verify_lines(page))
    ctx.exit(ExitCode.BAD_INPUT if breaches else ExitCode.DONE)
