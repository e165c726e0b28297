"""Moves: the waves over time, with level and watts after each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.common.figures import hours, level, listed, number, plural
from planner.report.common.text import Cell
from planner.report.plan.text import few
from tui.session import Session
from tui.views.rows import Row, row
from tui.views.sound import bar_text

if TYPE_CHECKING:
    from planner.report.moves.page import MovesPage, WaveEntry

COLUMNS = ("wave", "what", "work", "way back", "level", "watts", "level over time")
BAR = 24


def move_rows(session: Session, listener: str) -> list[Row]:
    """List a row for today and for each wave, with the level at a listener once it is done."""
    if session.afterwork is None or session.planned is None:
        return []
    page = session.afterwork.moves
    today = dict(page.levels_today_dba).get(listener)
    levels = [
        value for value in (today, *(level_at(wave, listener) for wave in page.waves)) if value is not None
    ]
    top = max(levels, default=0.0)
    return [_today(page, today, top), *(_wave(wave, listener, top) for wave in page.waves)]


def level_at(wave: WaveEntry, listener: str) -> float | None:
    """Look up the level at a listener once a wave is done."""
    return dict(wave.levels_dba).get(listener)


def _today(page: MovesPage, value: float | None, top: float) -> Row:
    return row(
        "today",
        Cell("today", "head"),
        "",
        ("", 0.0),
        ("", 0.0),
        (level(value), value or 0.0),
        (f"{number(page.power_today_w)} W", page.power_today_w or 0.0),
        bar_text(value, top, BAR),
    )


def _wave(wave: WaveEntry, listener: str, top: float) -> Row:
    value = level_at(wave, listener)
    what = few(wave.moves) if wave.moves else wave.name.lower()
    return row(
        f"wave/{wave.number}",
        Cell(_number(wave), "bad" if wave.breaches else "head"),
        what,
        (hours(wave.hours), wave.hours),
        (hours(wave.way_back_hours), wave.way_back_hours),
        (level(value), value or 0.0),
        (f"{number(wave.power_w)} W", wave.power_w or 0.0),
        bar_text(value, top, BAR),
    )


def _number(wave: WaveEntry) -> str:
    """Write a wave's number, with its day where it has one."""
    number_of = f"{'✖ ' if wave.breaches else ''}{wave.number}"
    return number_of if wave.start is None else f"{number_of}  {_day(wave.start)}"


def _day(moment: str, clock: bool = False) -> str:
    # Here, for it knows the solver, and a screen without a plan need not wait for that.
    from planner.report.moves.text import day

    return day(moment, clock)


def _today_lines(page: MovesPage) -> list[str]:
    """Find what holds for all waves: how it is today, what is done, what stands in the way."""
    levels = ", ".join(f"{name} {level(value)}" for name, value in page.levels_today_dba)
    lines = [f"today: {levels}; {number(page.power_today_w)} W"]
    if page.done:
        lines.append(f"done: {plural(len(page.done), 'wave')}, the last on {_day(page.done[-1].at)}")
    if page.schedule is not None:
        lines.append(f"on their dates: {page.schedule.outcome}")
        lines += [f"✖ {text}" for text in page.schedule.ways_out if not page.waves]
    return [*lines, *page.notes]


def move_detail(session: Session, key: str) -> list[str]:
    """List the tasks of a wave, what passes a limit on the way, and the room once it is done."""
    if session.afterwork is None:
        return []
    page = session.afterwork.moves
    if key == "today":
        return _today_lines(page)
    wave = next((item for item in page.waves if f"wave/{item.number}" == key), None)
    if wave is None:
        return []
    levels = ", ".join(f"{name} {level(value)}" for name, value in wave.levels_dba)
    lines = [f"wave {wave.number}: {wave.name}; way back open for {wave.rollback_days} days"]
    if wave.start is not None and wave.end is not None:
        lines.append(f"{_day(wave.start, clock=True)} to {_day(wave.end, clock=True)}")
    lines += [f"✖ passed: {text}" for text in wave.breaches]
    lines += [f"{hours(task.hours)}  {task.text}" for task in wave.tasks]
    lines.append(f"then: {levels}; {number(wave.power_w)} W, {number(wave.warmest_c)} °C, {wave.rack_u} U")
    if wave.cautions:
        lines.append(f"cautions: {listed(wave.cautions)}")
    return lines
