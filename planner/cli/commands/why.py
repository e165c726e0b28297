"""``stillroom why FILE SERVICE [PLAN]``."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import click

from planner.cli import output, solving
from planner.cli.errors import RefusedError
from planner.cli.exit_codes import ExitCode
from planner.cli.inputs import file_argument, open_checked_plan, open_inventory
from planner.cli.no_plan import write_no_plan
from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.placement.result import Options
from planner.placement.studies.forced_assignment import Forced, forced
from planner.report.common.json_data import document_data
from planner.report.why import page as why_page
from planner.report.why import text as why_text


@click.command("why")
@file_argument
@click.argument("service")
@click.argument("plan_file", metavar="[PLAN]", required=False, type=click.Path(path_type=Path))
@solving.solve_options
@output.face_options
@click.pass_context
def command(ctx: click.Context, /, file: Path, service: str, plan_file: Path | None, **asked: Any) -> None:
    """Say why SERVICE goes where it goes, and what would change were it on any other machine there may be.

    For each machine: what forbids it, or else the best plan that has the service there, less the plan. PLAN
    is what 'stillroom plan -o' saved; without it, the site in FILE is planned first. --time is for each.
    """
    site = open_inventory(file).site
    if service not in site.service:
        raise RefusedError(f"there is no service {service}; there are: {', '.join(site.service)}")
    options = Options(**{name: asked[name] for name in ("time_s", "seed", "solver", "gap", "aims")})
    plan = _plan(ctx, site, plan_file, options, asked["as_json"])
    page = why_page.why_page(site, plan, service, _found(site, plan, service, options))
    if asked["as_json"]:
        output.write_json(document_data(why_page.WhyDocument(page=page)))
    elif asked["plain"]:
        output.write(why_text.why_plain(page), plain=True)
    else:
        output.write(why_text.why_lines(page))
    open_ends = [entry for entry in page.places if not entry.proven and entry.verdict != "forbidden"]
    ctx.exit(ExitCode.STOPPED_WITH_PLAN if open_ends else ExitCode.DONE)


def _plan(ctx: click.Context, site: Site, plan_file: Path | None, options: Options, as_json: bool) -> Plan:
    if plan_file is not None:
        return open_checked_plan(site, plan_file)
    result = solving.run(site, options)
    if result.plan is None:
        write_no_plan(site, result, as_json, options.time_s)
        ctx.exit(solving.CODES[result.outcome])
    return result.plan


def _found(site: Site, plan: Plan, service: str, options: Options) -> list[Forced]:
    def job(cancel: threading.Event, line: solving.ProgressLine) -> list[Forced]:
        def watch(machine: str, seconds: float) -> None:
            del seconds
            line.latest = lambda seconds: f"were it on {machine}, {seconds:.0f} s"

        solve = solving.solver_of(line)
        return list(forced(site, plan, service, options, solve=solve, cancel=cancel, watch=watch))

    return solving.attend(job)
