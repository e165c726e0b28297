"""``stillroom quiet FILE [PLAN]``."""

from __future__ import annotations

from pathlib import Path

import click

from planner.cli import output, solving
from planner.cli.errors import RefusedError
from planner.cli.exit_codes import ExitCode
from planner.cli.inputs import file_argument, open_inventory, open_plan
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.placement.result import Options, TooManyVariantsError
from planner.quieting import CannotQuietError, Quieting, quieting
from planner.report.common.conflicts import conflict_words
from planner.report.common.json_data import document_data
from planner.report.quiet import build as ladder_build
from planner.report.quiet import text as ladder_text
from planner.report.quiet.page import QuietDocument


@click.command("quiet")
@file_argument
@click.argument("plan_file", metavar="[PLAN]", required=False, type=click.Path(path_type=Path))
@click.option(
    "--time", "time_s", default=60.0, type=click.FloatRange(min=0.1), help="Seconds for each proof.  [60]"
)
@click.option("--seed", default=0, type=click.IntRange(0, 2**31 - 1), help="Same seed, same set.  [0]")
@output.face_options
@click.pass_context
def command(
    ctx: click.Context,
    file: Path,
    plan_file: Path | None,
    time_s: float,
    seed: int,
    as_json: bool,
    plain: bool,
) -> None:
    """Quiet the machines of FILE as they stand: loudest first, beside the proven cheapest set.

    PLAN is what 'stillroom plan -o' saved: then its machines are quieted, as if none of its measures were
    taken yet and today's cooling still ran. Where services run stays as it is.
    """
    site = open_inventory(file).site
    state, words = state_today(site), "machines as they are today"
    if plan_file is not None:
        state, words = open_plan(site, plan_file).state, f"machines of {plan_file.name}"
    found = _quieted(site, state, Options(time_s=time_s, seed=seed))
    page = ladder_build.quiet_page(found, words)
    if as_json:
        output.write_json(document_data(QuietDocument(page=page)))
    elif plain:
        output.write(ladder_text.quiet_plain(page), plain=True)
    else:
        output.write(ladder_text.quiet_lines(page))
    ctx.exit(_code(found))


def _quieted(site: Site, state: State, options: Options) -> Quieting:
    try:
        return solving.attend(
            lambda cancel, line: quieting(site, state, options, solve=solving.solver_of(line), cancel=cancel)
        )
    except TooManyVariantsError as error:
        raise RefusedError(conflict_words(site, error.conflict)) from None
    except CannotQuietError as error:
        raise RefusedError(str(error)) from None


def _code(found: Quieting) -> ExitCode:
    if found.best is None or found.equal is None:
        return ExitCode.STOPPED_EMPTY
    proven = found.best.proven and found.equal.proven
    return ExitCode.DONE if proven else ExitCode.STOPPED_WITH_PLAN
