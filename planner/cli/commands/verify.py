"""``stillroom verify FILE PLAN [--order ORDER]``."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from planner.cli import output
from planner.cli.exit_codes import ExitCode
from planner.cli.inputs import file_argument, open_inventory, open_order, open_plan_and_data
from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.report.common.json_data import document_data
from planner.report.plan import recomputed
from planner.report.verify import page as verify_page
from planner.verify import verify_order, verify_plan, verify_state


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
@click.option("--recompute", is_flag=True, help="Compare each figure of PLAN's page with what it should be.")
@output.face_options
@click.pass_context
def command(
    ctx: click.Context,
    file: Path,
    plan_file: Path,
    order_file: Path | None,
    recompute: bool,
    as_json: bool,
    plain: bool,
) -> None:
    """Judge PLAN, made by 'stillroom plan -o', against the inventory FILE, without the solver.

    With --order the order of its moves is walked step by step: each state on the way must keep every limit,
    the way back must stay open until its deadline, and the figures must be what the room adds up to. Ends
    with 0 when all is kept, with 2 when a rule is broken. An order of a broken plan is not walked.

    With --recompute each figure of the page in PLAN is computed anew from FILE; one that differs by more than
    rounding ends with 2 as well. A plan whose machines break a rule has no page to compute.
    """
    site = open_inventory(file).site
    plan, data = open_plan_and_data(site, plan_file)
    breaches = verify_plan(site, plan)
    judged = None
    if order_file is not None and not breaches:
        judged = order_file.name
        breaches = verify_order(site, plan.state, open_order(site, order_file))
    differing, left_out = _recomputed(site, plan, data) if recompute else (None, ())
    page = verify_page.verify_page(file.name, plan_file.name, breaches, judged, differing, left_out)
    if as_json:
        output.write_json(document_data(page))
    elif plain:
        output.write(verify_page.verify_plain(page), plain=True)
    else:
        output.write(verify_page.verify_lines(page))
    ctx.exit(ExitCode.BAD_INPUT if breaches or differing else ExitCode.DONE)


def _recomputed(
    site: Site, plan: Plan, data: Mapping[str, Any]
) -> tuple[tuple[recomputed.Difference, ...] | None, tuple[str, ...]]:
    """Compare the page of a plan file with what it should be; None where there can be none."""
    if verify_state(site, plan.state):
        return None, ("page", *recomputed.not_recomputed(data))
    return recomputed.differences(site, plan, data), recomputed.not_recomputed(data)
