"""``stillroom check FILE``."""

from __future__ import annotations

from pathlib import Path

import click

from planner.cli import output
from planner.cli.exit_codes import ExitCode
from planner.cli.inputs import file_argument
from planner.inventory import InventoryError, load
from planner.report.check import page as check_page
from planner.report.check import text as check_text
from planner.report.common.json_data import document_data


@click.command("check")
@file_argument
@output.face_options
@click.pass_context
def command(ctx: click.Context, file: Path, as_json: bool, plain: bool) -> None:
    """List every error, every doubt, and every default that FILE leaves to be taken."""
    try:
        page = check_page.page_of_site(file.name, load(file))
    except InventoryError as error:
        page = check_page.page_of_error(file.name, error)
    if as_json:
        output.write_json(document_data(page))
    elif plain:
        output.write(check_text.check_plain(page), plain=True)
    else:
        output.write(check_text.check_lines(page))
    ctx.exit(ExitCode.DONE if page.usable else ExitCode.BAD_INPUT)
