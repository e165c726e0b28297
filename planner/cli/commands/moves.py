"""``stillroom moves FILE [PLAN]``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

from planner.cli import output, solving
from planner.cli.commands import marking, readings
from planner.cli.commands.papers import Papers
from planner.cli.errors import OwnMistakeError, RefusedError
from planner.cli.exit_codes import ExitCode
from planner.cli.group import say
from planner.cli.inputs import file_argument, open_checked_plan, open_inventory
from planner.cli.no_plan import write_no_plan
from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.moves import Options as Timing
from planner.moves.tracking.arranging import kept_order
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse, first_day
from planner.moves.tracking.progress_file import Kept, path_beside
from planner.placement.result import Options
from planner.report.common.json_data import document_data
from planner.report.moves import page as moves_page
from planner.report.moves import text as moves_text
from planner.report.moves.build import course_page

ARRANGE = "planner.moves.tracking.arranging:arrange"
ORDERING = "ordering the moves"
DAY = click.DateTime(formats=["%Y-%m-%d"])
WAVE = click.IntRange(min=1)
MARKS: tuple[Callable[[Any], Any], ...] = (
    click.option("--start", type=DAY, metavar="DATE", help="First day of work; schedules anew."),
    click.option("--quiet-first", is_flag=True, help="Quiet as early as can be, before fewest windows."),
    click.option("--done", type=WAVE, multiple=True, metavar="N", help="Wave N is done."),
    click.option("--failed", type=WAVE, metavar="N", help="Wave N failed: nothing of it stands."),
    click.option("--rolled-back", type=WAVE, metavar="N", help="Wave N was taken back."),
    click.option("--moved", type=(WAVE, DAY), metavar="N DATE", help="Wave N is not done before DATE."),
    *readings.OPTIONS,
    click.option("--note", default="", metavar="TEXT", help="A word that is kept with mark and reading."),
    click.option("--keep", is_flag=True, help="Keep this order beside FILE and work from it."),
    click.option(
        "--markdown", metavar="FILE", help="Write the runbook ('-': to stdout in place of the page)."
    ),
    click.option("--ics", type=click.Path(path_type=Path), metavar="FILE", help="Write the calendar."),
    click.option("--graph", type=click.Path(path_type=Path), metavar="FILE", help="Draw it: .svg or .dot."),
)


def _with_marks(function: Callable[..., Any]) -> Callable[..., Any]:
    for decorate in reversed(MARKS):
        function = decorate(function)
    return function


@click.command("moves")
@file_argument
@click.argument("plan_file", metavar="[PLAN]", required=False, type=click.Path(path_type=Path))
@_with_marks
@solving.solve_options
@output.face_options
@click.pass_context
def command(ctx: click.Context, /, file: Path, plan_file: Path | None, **asked: Any) -> None:
    """Put the work in order: waves, each with its checks, its way back and what the room is like after it.

    PLAN is what 'stillroom plan -o' saved; without it, the site in FILE is planned first, with the options.
    With a first day the waves get dates in the maintenance windows, with as few windows and as early quiet
    as --time lets it prove. What is marked as done, failed, rolled back or moved is kept in a small file
    beside FILE, and the rest is put in order again. A reading after a wave that is done is kept there too,
    and set against what was foretold. Where no plan can be made, --json writes what 'stillroom plan --json'
    would.
    """
    faces = bool(asked["as_json"] or asked["plain"])
    papers = Papers(asked["markdown"], asked["ics"], asked["graph"])
    papers.refuse_bad([file, *([plan_file] if plan_file else [])], faces)
    marks = marking.said(asked["done"], asked["failed"], asked["rolled_back"], _moved(asked["moved"]))
    site = open_inventory(file).site
    read = readings.read_of(site, asked)
    before = marking.read_progress(file)
    plan, code = _plan(ctx, site, plan_file, asked)
    course = OrderInUse(site, plan.state, before.progress)
    _refuse_strange(course, file)
    first, timing = _day(asked["start"]), _timing(asked)
    if marks:
        course = marking.marked(course, _current(course, timing, first), marks, asked["note"])
    if read is not None:
        course = readings.with_reading(course, read)
    found = _arranged(course, timing, first, is_marked=bool(marks))
    _refuse_rejected(found)
    papers.refuse_undated(found.order)
    if found.is_possible and (marks or asked["keep"] or papers.files):
        course = _kept(course, before, found)
    elif marks or read is not None:
        marking.write_progress(before, course.progress)
    _write(course, plan, found, papers, asked)
    ctx.exit(_code(code, found))


def _timing(asked: dict[str, Any]) -> Timing:
    return Timing(time_s=asked["time_s"], seed=asked["seed"], quiet_first=asked["quiet_first"])


def _moved(value: tuple[int, datetime] | None) -> tuple[int, date] | None:
    return None if value is None else (value[0], value[1].date())


def _day(value: datetime | None) -> date | None:
    return None if value is None else value.date()


def _plan(
    ctx: click.Context, site: Site, plan_file: Path | None, asked: dict[str, Any]
) -> tuple[Plan, ExitCode]:
    if plan_file is not None:
        return open_checked_plan(site, plan_file), ExitCode.DONE
    names = ("time_s", "seed", "solver", "gap", "aims")
    result = solving.run(site, Options(**{name: asked[name] for name in names}))
    code = solving.CODES[result.outcome]
    if result.plan is None:
        write_no_plan(site, result, asked["as_json"], asked["time_s"])
        ctx.exit(code)
    return result.plan, code


def _refuse_strange(course: OrderInUse, file: Path) -> None:
    strange = course.strange()
    if strange:
        name = path_beside(file).name
        raise RefusedError(
            f"{name} belongs to another plan: it has '{strange[0]}', which this plan does not do; give the "
            "plan that the work was begun with, or delete the file to begin anew"
        )


def _current(course: OrderInUse, timing: Timing, first: date | None) -> ArrangedOrder:
    """Find the order that marks speak of: the one kept, or the one without dates."""
    kept = course.kept()
    if kept is not None:
        return kept
    if first is not None or course.site.windows.start_date is not None:
        raise RefusedError("no order is kept that the mark could speak of; choose one with --keep first")
    return _fresh(course, timing)


def _arranged(course: OrderInUse, timing: Timing, first: date | None, *, is_marked: bool) -> ArrangedOrder:
    kept = course.kept()
    if kept is not None and first is None and not is_marked:
        if not kept.breaches:
            return kept
        say(f"the order kept no longer holds ({kept.breaches[0].message}); it is made anew")
    soonest = date.today() if is_marked else None
    return _fresh(course, replace(timing, start=first_day(course, first, soonest)))


def _fresh(course: OrderInUse, timing: Timing) -> ArrangedOrder:
    try:
        found, ended_by = solving.search(ARRANGE, course, timing, time_s=timing.time_s, doing=ORDERING)
    except ValueError as error:
        raise RefusedError(f"windows: {error}") from None
    return kept_order(course, found, ended_by) if ended_by else found


def _refuse_rejected(found: ArrangedOrder) -> None:
    """Every order is walked by the judge; what it rejects is our own mistake and is not shown."""
    if found.is_possible and found.breaches:
        words = "; ".join(f"{item.rule}, {item.where}: {item.message}" for item in found.breaches[:3])
        raise OwnMistakeError(f"the judge rejects the order of moves: {words}")


def _kept(course: OrderInUse, before: Kept, found: ArrangedOrder) -> OrderInUse:
    course = replace(course, progress=course.progress.booked(found.order.waves))
    path = marking.write_progress(before, course.progress)
    say(f"{path.name} keeps this order and what is done of it")
    return course


def _write(
    course: OrderInUse, plan: Plan, found: ArrangedOrder, papers: Papers, asked: dict[str, Any]
) -> None:
    if found.is_possible:
        papers.write(course, found.order)
        if papers.fills_stdout:
            return
    page = course_page(course, str(plan.outcome), found)
    if asked["as_json"]:
        output.write_json(document_data(moves_page.MovesDocument(page=page)))
    elif asked["plain"]:
        output.write(moves_text.moves_plain(page), plain=True)
    else:
        output.write(moves_text.moves_lines(page))


def _code(plan_code: ExitCode, found: ArrangedOrder) -> ExitCode:
    code = ExitCode.DONE if found.outcome is None else solving.CODES[found.outcome]
    return code if code is not ExitCode.DONE else plan_code
