"""``stillroom plan FILE``: the main job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from planner.cli import output, saving, signals, solving
from planner.cli.inputs import file_argument, open_inventory, open_last_state
from planner.cli.no_plan import write_no_plan
from planner.domain.plan import Plan
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.result import Options, Result
from planner.placement.studies.alternatives import Alternatives, Margins
from planner.placement.studies.coincident_peaks import has_profiles, peaks
from planner.report.plan import build as plan_page
from planner.report.plan import json_file
from planner.report.plan import plain as plan_plain
from planner.report.plan import text as plan_text
from planner.report.plan.alternatives import (
    AlternativesPage,
    alternatives_lines,
    alternatives_page,
    alternatives_plain,
)
from planner.report.plan.peaks import PeaksEntry, peaks_entry, peaks_facts, peaks_lines

ALTERNATIVES = "planner.placement.studies.near_optimal:alternatives"


@click.command("plan")
@file_argument
@click.option(
    "-o", "--output", "target", type=click.Path(path_type=Path), help="Save the plan here, as JSON."
)
@click.option(
    "--alternatives",
    "most",
    default=0,
    type=click.IntRange(0, 5),
    help="Show up to 5 plans nearly as good that decide otherwise.  [0]",
)
@click.option(
    "--again",
    "last",
    type=click.Path(path_type=Path),
    help="Plan again from this saved plan, and change only what is better changed.",
)
@solving.solve_options
@output.face_options
@click.pass_context
def command(
    ctx: click.Context,
    file: Path,
    target: Path | None,
    most: int,
    last: Path | None,
    time_s: float,
    seed: int,
    gap: float,
    aims: tuple[Aim, ...] | None,
    solver: str,
    as_json: bool,
    plain: bool,
) -> None:
    """Plan the site in FILE: verdicts, shopping list, what it saves, and how sure it is.

    The first Ctrl-C stops the search and keeps the best plan, the second leaves.
    """
    if target is not None:
        saving.refuse_bad_target(target, [file, *([last] if last else [])])
    site = open_inventory(file).site
    state = None if last is None else open_last_state(site, last)
    options = Options(time_s, seed, solver, gap, aims, start=state, previous=state)
    result = solving.run(site, options)
    entry, others = _peaks(site, result, options), _others(site, result, options, most)
    if target is not None and result.plan is not None:
        saving.save(target, output.json_text(json_file.dump(site, result.plan, entry, others)))
    if result.plan is None:
        write_no_plan(site, result, as_json, time_s)
    else:
        _write(site, result.plan, entry, others, as_json, plain)
    ctx.exit(solving.CODES[result.outcome])


def _peaks(site: Site, result: Result, options: Options) -> PeaksEntry | None:
    """Look at what it saves that peaks do not coincide, unless the person has stopped the search."""
    plan = result.plan
    if plan is None or not has_profiles(site) or signals.was_stopped():
        return None
    found = solving.attend(
        lambda cancel, line: peaks(site, plan, options, solve=solving.solver_of(line), cancel=cancel)
    )
    return peaks_entry(found, site.currency)


def _others(site: Site, result: Result, options: Options, most: int) -> AlternativesPage | None:
    """Look for alternatives with the time that the plan had, unless the person has stopped the search."""
    plan = result.plan
    if plan is None or most == 0 or signals.was_stopped():
        return None
    found, ended_by = solving.search(ALTERNATIVES, site, plan, None, options, most, time_s=options.time_s)
    if ended_by:
        found = replace(found or Alternatives(Margins(), ()), stopped_by=ended_by)
    return alternatives_page(site, plan, found)


def _write(
    site: Site,
    plan: Plan,
    entry: PeaksEntry | None,
    others: AlternativesPage | None,
    as_json: bool,
    is_plain: bool,
) -> None:
    if as_json:
        output.write_json(json_file.dump(site, plan, entry, others))
    elif is_plain:
        page = plan_page.plan_page(site, plan)
        facts = [*plan_plain.plan_plain(page), *peaks_facts(entry), *alternatives_plain(others)]
        output.write(facts, plain=True)
    else:
        lines = plan_text.plan_lines(plan_page.plan_page(site, plan), peaks_lines(entry))
        output.write([*lines, *alternatives_lines(others)])
