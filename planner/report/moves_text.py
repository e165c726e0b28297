"""The order of the moves as text, and one fact a line."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.figures import hours, level, listed, number, plural
from planner.report.moves_page import MovesPage, TaskEntry, WaveEntry
from planner.report.plan_text import few
from planner.report.text import Cell, Line, heading, line, paragraph, table


def moves_lines(page: MovesPage) -> list[Line]:
    """Set the page."""
    always = gates_of_every_wave(page)
    lines = [*_top(page), *_warnings(page), *_glance(page), *_list("Before every wave", always)]
    for wave in page.waves:
        lines += _wave(wave, always)
    lines += _cautions(page)
    return [*lines, line(), *paragraph(page.note, indent="")]


def _top(page: MovesPage) -> Iterator[Line]:
    yield line(f"Moves for {page.site}", "head")
    if not page.waves:
        yield from paragraph("nothing has to be moved")
        return
    yield from paragraph(
        f"{plural(len(page.waves), 'wave')}, {hours(page.hours)} of work; plan: {page.plan_outcome}"
    )
    yield from paragraph(f"today: {_levels(page.levels_today_dba)}; {number(page.power_today_w)} W")


def _levels(levels: tuple[tuple[str, float | None], ...]) -> str:
    return ", ".join(f"{name} {level(value)}" for name, value in levels) or "nobody listens"


def _warnings(page: MovesPage) -> Iterator[Line]:
    yield from _list("Limits passed on the way", page.breaches, "bad")
    yield from _list(
        "Services that depend on each other in a ring", [ring.text for ring in page.cycles], "doubt"
    )
    yield from _list("Mind", page.notes, "doubt")


def _list(title: str, texts: tuple[str, ...] | list[str], style: str = "") -> Iterator[Line]:
    if texts:
        yield from heading(title)
    for text in texts:
        yield from paragraph(f"- {text}", style=style, hang="  ")


def gates_of_every_wave(page: MovesPage) -> tuple[str, ...]:
    """Give the checks that stand before each wave, where there is more than one."""
    if len(page.waves) < 2:
        return ()
    first, *others = page.waves
    return tuple(text for text in first.go_no_go if all(text in wave.go_no_go for wave in others))


def _glance(page: MovesPage) -> Iterator[Line]:
    if len(page.waves) < 2:
        return
    yield from heading("The waves at a glance: what they move, and the room once they are done")
    names = [name for name, _ in page.levels_today_dba][:2]
    rows: list[tuple[Cell, ...]] = [
        (Cell(""), *(Cell(text, "dim", right=True) for text in ("work", *names, "power")), Cell(""))
    ]
    rows += [_glance_row(wave, names) for wave in page.waves]
    yield from table(rows)


def _glance_row(wave: WaveEntry, names: list[str]) -> tuple[Cell, ...]:
    levels = dict(wave.levels_dba)
    figures = (hours(wave.hours), *(level(levels[name]) for name in names), f"{number(wave.power_w)} W")
    what = few(wave.moves) if wave.moves else wave.name.lower()
    return (Cell(f"{wave.number}", right=True), *(Cell(text, right=True) for text in figures), Cell(what))


def _wave(wave: WaveEntry, always: tuple[str, ...]) -> Iterator[Line]:
    yield from heading(f"Wave {wave.number}: {wave.name}")
    yield from paragraph(
        f"{hours(wave.hours)} of work; way back {hours(wave.way_back_hours)}, "
        f"open for {plural(wave.rollback_days, 'day')}"
    )
    for text in wave.breaches:
        yield from paragraph(f"PASSED: {text}", style="bad", hang="  ")
    yield from table([_task_row(task) for task in wave.tasks])
    yield line("  Go only if")
    if always:
        yield from paragraph("[ ] all that stands before every wave", indent="    ")
    for text in wave.go_no_go:
        if text not in always:
            yield from paragraph(f"[ ] {text}", indent="    ", hang="    ")
    if wave.rollback:
        yield line("  Way back, in this order")
    for text in wave.rollback:
        yield from paragraph(f"- {text}", indent="    ", hang="  ")
    yield from paragraph(f"Cautions: {listed(wave.cautions)}" if wave.cautions else "", hang="  ")
    yield from paragraph(f"Then: {_after(wave)}", hang="  ")


def _after(wave: WaveEntry) -> str:
    sums = f"{number(wave.power_w)} W, {number(wave.warmest_c)} °C in the warmest season, {wave.rack_u} U"
    return f"{_levels(wave.levels_dba)}; {sums}"


def _task_row(task: TaskEntry) -> tuple[Cell, ...]:
    down = "" if task.down_hours == 0.0 else f" (down {_down(task)})"
    return (Cell(hours(task.hours), right=True), Cell(task.text + down))


def _down(task: TaskEntry) -> str:
    return "for an unknown time" if task.down_hours is None else f"{number(task.down_hours * 60.0)} min"


def _cautions(page: MovesPage) -> Iterator[Line]:
    if page.cautions:
        yield from heading("Cautions")
    for entry in page.cautions:
        name = f"{entry.hazard}: " if entry.hazard != entry.text else ""
        yield from paragraph(f"! {name}{entry.text} ({waves_words(entry.because)})", hang="  ")


def waves_words(because: tuple[str, ...]) -> str:
    """Write 'wave 1', 'wave 3' as 'waves 1 and 3'."""
    numbers = tuple(text.removeprefix("wave ") for text in because)
    return f"wave {numbers[0]}" if len(numbers) == 1 else f"waves {few(numbers, most=6)}"


def moves_plain(page: MovesPage) -> list[Line]:
    """Set the page with one fact a line."""
    return [line(text) for text in _facts(page)]


def _facts(page: MovesPage) -> Iterator[str]:
    yield f"site: {page.site}"
    yield f"plan: {page.plan_outcome}"
    yield f"today: {_levels(page.levels_today_dba)}; {number(page.power_today_w)} W"
    yield from (f"limit passed: {text}" for text in page.breaches)
    yield from (f"ring: {ring.text}" for ring in page.cycles)
    yield from (f"mind: {text}" for text in page.notes)
    for wave in page.waves:
        start = f"wave {wave.number}"
        yield f"{start}: {wave.name}, {hours(wave.hours)}, way back {hours(wave.way_back_hours)}"
        yield from (f"{start} task: {task.text} {hours(task.hours)}" for task in wave.tasks)
        yield from (f"{start} go only if: {text}" for text in wave.go_no_go)
        yield from (f"{start} way back: {text}" for text in wave.rollback)
        yield f"{start} then: {_after(wave)}"
    yield from (f"caution: {entry.text} For: {listed(entry.because)}." for entry in page.cautions)
    yield f"note: {page.note}"
