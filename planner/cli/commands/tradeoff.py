"""``stillroom tradeoff FILE``: what less noise costs in watts and money."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from planner.cli import output, saving, solving
from planner.cli.errors import RefusedError
from planner.cli.exit_codes import ExitCode
from planner.cli.inputs import file_argument, open_inventory
from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.placement.result import Options
from planner.placement.studies.front import Front, Scale, empty_front
from planner.report.common.conflicts import reasons
from planner.report.common.figures import plural
from planner.report.common.json_data import document_data
from planner.report.tradeoff import build as tradeoff_build
from planner.report.tradeoff import text as tradeoff_text
from planner.report.tradeoff.page import TradeoffDocument, TradeoffPage

TRADEOFF = "planner.placement.studies.pareto_front:tradeoff"


@click.command("tradeoff")
@file_argument
@click.option(
    "--time",
    "time_s",
    default=60.0,
    type=click.FloatRange(min=0.1),
    help="Seconds for the whole front.  [60]",
)
@click.option("--points", type=click.IntRange(min=1), help="Stop at so many points, far apart.  [all]")
@click.option("--absolute", is_flag=True, help="dBA at the loudest listener, whatever the targets.")
@click.option("--seed", default=0, type=click.IntRange(0, 2**31 - 1), help="Same seed, same front.  [0]")
@click.option("--csv", "table", help="Write the points as CSV to this file ('-': to stdout).")
@output.face_options
@click.pass_context
def command(
    ctx: click.Context,
    file: Path,
    time_s: float,
    points: int | None,
    absolute: bool,
    seed: int,
    table: str | None,
    as_json: bool,
    plain: bool,
) -> None:
    """Show what FILE trades off: level, watts and money, every plan that no other beats, and the one to take.

    A front that is not whole when the time is up says so. The first Ctrl-C stops the search and keeps what
    was found, the second leaves.
    """
    _refuse_bad_table(table, file, as_json or plain)
    site = open_inventory(file).site
    scale = Scale.ABSOLUTE if absolute else None
    front = _front(site, Options(time_s=time_s, seed=seed), scale, points)
    page = tradeoff_build.tradeoff_page(front)
    if table == "-":
        output.write_text(tradeoff_text.tradeoff_csv(page))
    else:
        if table is not None:
            saving.save(Path(table), tradeoff_text.tradeoff_csv(page))
        _write(page, as_json, plain)
    ctx.exit(solving.CODES[front.outcome])


def _refuse_bad_table(table: str | None, file: Path, other_face: bool) -> None:
    if table == "-" and other_face:
        raise RefusedError("--csv - fills stdout; name a file for it, or leave out --json and --plain")
    if table is not None and table != "-":
        saving.refuse_bad_target(Path(table), [file])


def _front(site: Site, options: Options, scale: Scale | None, most: int | None) -> Front:
    def words(front: Front) -> solving.Telling:
        far = f"{plural(len(front.points), 'point')}, {plural(front.zones, 'gap')} still to search"
        return lambda seconds: f"{far}, {seconds:.0f} s"

    found, ended_by = solving.search(TRADEOFF, site, options, scale, most, time_s=options.time_s, words=words)
    front: Front = found or empty_front(site, scale)
    if ended_by:
        front = replace(front, stopped_by=ended_by)
    if front.outcome is Outcome.FAILED:
        raise RefusedError(*reasons(site, front.outcome, front.conflicts), code=ExitCode.BAD_INPUT)
    return front


def _write(page: TradeoffPage, as_json: bool, plain: bool) -> None:
    if as_json:
        output.write_json(document_data(TradeoffDocument(page=page)))
    elif plain:
        output.write(tradeoff_text.tradeoff_plain(page), plain=True)
    else:
        output.write(tradeoff_text.tradeoff_lines(page))
