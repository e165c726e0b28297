"""The order of the moves as text, and one fact a line."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from planner.domain.plan import Outcome
from planner.report.common.figures import hours, level, listed, number, plural, short
from planner.report.common.text import Cell, Line, heading, line, paragraph, table
from planner.report.moves.page import MovesPage, ScheduleEntry, TaskEntry, WaveEntry
from planner.report.plan.text import few
from planner.report.readings.text import readings_facts, readings_lines


def moves_lines(page: MovesPage) -> list[Line]:
    """Set the page."""
    always = gates_of_every_wave(page)
    lines = [
        *_top(page),
        *_done(page),
        *readings_lines(page.readings),
        *_warnings(page),
        *_glance(page),
        *over_time_lines(page),
    ]
    lines += _list("Before every wave", always)
    for wave in page.waves:
        lines += _wave(wave, always)
    lines += _cautions(page)
    return [*lines, line(), *paragraph(page.note, indent="")]


def _top(page: MovesPage) -> Iterator[Line]:
    yield line(f"Moves for {page.site}", "head")
    if page.schedule is not None and not page.waves and page.schedule.ways_out:
        yield from _no_order(page.schedule)
        return
    if not page.waves:
        yield from paragraph("nothing is left to do" if page.done else "nothing has to be moved")
        return
    yield from paragraph(
        f"{plural(len(page.waves), 'wave')}, {hours(page.hours)} of work; plan: {page.plan_outcome}"
    )
    yield from paragraph(_when(page))
    if page.schedule is not None:
        yield from paragraph(schedule_words(page.schedule), hang="  ")
    yield from paragraph(f"today: {_levels(page.levels_today_dba)}; {number(page.power_today_w)} W")


def _when(page: MovesPage) -> str:
    if page.timezone is None:
        return "no dates yet: give --start, or 'start_date' under 'windows' in the file"
    return f"from {day(page.waves[0].start)} to {day(page.waves[-1].end)}, clock of {page.timezone}"


def day(moment: str | None, clock: bool = False) -> str:
    """Write a moment of a page as a day, with its time where asked; '' for none."""
    if moment is None:
        return ""
    return f"{datetime.fromisoformat(moment):%a %Y-%m-%d %H:%M}"[: 20 if clock else 14]


def schedule_words(schedule: ScheduleEntry) -> str:
    """Say how good the schedule is: proven, or what is known of the fewest windows."""
    if schedule.outcome == Outcome.PROVEN:
        words = "nothing is done sooner without more noise than in plain order, nor quiet earlier"
        if schedule.aims and schedule.aims[0].aim == "level over time":
            words = "nothing is quiet earlier, and nothing as quiet is done sooner"
        return f"schedule: proven: {words}"
    aim = next((item for item in schedule.aims if item.aim == "windows"), None)
    stopped = schedule.outcome + (f" ({schedule.stopped_by})" if schedule.stopped_by else "")
    if aim is None or aim.value is None:
        return f"schedule: {stopped}"
    least = aim.value if aim.proven else aim.bound
    known = "as few as there can be" if aim.proven else f"at least {number(least)} are needed"
    until = f"done within {number(aim.value)} windows"
    return f"schedule: {stopped}; {until}, {known}; more --time may better it"


def _no_order(schedule: ScheduleEntry) -> Iterator[Line]:
    sure = schedule.outcome == Outcome.INFEASIBLE
    why = f" ({schedule.stopped_by})" if schedule.stopped_by else ""
    words = "no order keeps every limit on the way" if sure else f"no order was found{why}"
    yield line(f"  {words}", "bad")
    yield from _list("What stands in the way, and the smallest way out", schedule.ways_out, "bad")


def _done(page: MovesPage) -> Iterator[Line]:
    if page.done:
        yield from heading("Done so far")
    for entry in page.done:
        what = few(entry.moves) if entry.moves else plural(len(entry.tasks), "task")
        yield from paragraph(f"[x] wave {entry.number}, {day(entry.at)}: {what}", hang="    ")


def over_time_lines(page: MovesPage) -> Iterator[Line]:
    """Compare the noise until all is done with that of the plainest order of the same work."""
    if page.over_time is None or len(page.waves) < 2:
        return
    yield from heading("Noise until all is done: the mean by energy")
    plain = page.over_time.plain
    for place, (name, mean) in enumerate(page.over_time.chosen.mean_dba):
        other = plain.mean_dba[place][1] if plain is not None else None
        yield from paragraph(f"{name}: {level(mean)}{_against(mean, other)}", hang="  ")
    if plain is not None:
        count = plural(plain.windows, "window")
        yield from paragraph(
            f"The plain order does the same work in {count}: each task as early as what comes before it, "
            "the hours and the limits let it, by name.",
            style="dim",
        )


def _against(mean: float | None, other: float | None) -> str:
    if mean is None or other is None:
        return ""
    if abs(mean - other) < 0.05:
        return ", as in plain order"
    return f", {short(abs(mean - other))} dB {'less' if mean < other else 'more'} than in plain order"


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
    """Find the checks that stand before each wave, where there is more than one."""
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
        (
            Cell(""),
            *([Cell("")] if page.timezone else []),
            *(Cell(text, "dim", right=True) for text in ("work", *names, "power")),
            Cell(""),
        )
    ]
    rows += [_glance_row(wave, names) for wave in page.waves]
    yield from table(rows)


def _glance_row(wave: WaveEntry, names: list[str]) -> tuple[Cell, ...]:
    levels = dict(wave.levels_dba)
    figures = (hours(wave.hours), *(level(levels[name]) for name in names), f"{number(wave.power_w)} W")
    what = few(wave.moves) if wave.moves else wave.name.lower()
    when = [Cell(day(wave.start))] if wave.start else []
    return (
        Cell(f"{wave.number}", right=True),
        *when,
        *(Cell(text, right=True) for text in figures),
        Cell(what),
    )


def _wave(wave: WaveEntry, always: tuple[str, ...]) -> Iterator[Line]:
    yield from heading(f"Wave {wave.number}: {wave.name}")
    until = f" until {day(wave.rollback_deadline, clock=True)}" if wave.rollback_deadline else ""
    if wave.start and wave.end:
        yield from paragraph(f"{day(wave.start, clock=True)} to {day(wave.end, clock=True)}")
    yield from paragraph(
        f"{hours(wave.hours)} of work; way back {hours(wave.way_back_hours)}, "
        f"open for {plural(wave.rollback_days, 'day')}{until}"
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
    yield from _boxes("Done only when", [text for task in wave.tasks for text in task.done_when])
    if wave.rollback:
        yield line("  Way back, in this order")
    for text in wave.rollback:
        yield from paragraph(f"- {text}", indent="    ", hang="  ")
    yield from paragraph(f"Cautions: {listed(wave.cautions)}" if wave.cautions else "", hang="  ")
    yield from paragraph(f"Then: {_after(wave)}", hang="  ")


def _boxes(title: str, texts: list[str]) -> Iterator[Line]:
    if texts:
        yield line(f"  {title}")
    for text in dict.fromkeys(texts):
        yield from paragraph(f"[ ] {text}", indent="    ", hang="    ")


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
    if page.schedule is not None:
        yield f"schedule: {page.schedule.outcome}"
        if page.schedule.stopped_by:
            yield f"stopped by: {page.schedule.stopped_by}"
        yield from (f"way out: {text}" for text in page.schedule.ways_out)
    yield from (f"done: wave {item.number}, {day(item.at)}" for item in page.done)
    yield from readings_facts(page.readings)
    yield from (text.pieces[0].text.strip() for text in over_time_lines(page) if text.pieces)
    yield from (f"limit passed: {text}" for text in page.breaches)
    yield from (f"ring: {ring.text}" for ring in page.cycles)
    yield from (f"mind: {text}" for text in page.notes)
    for wave in page.waves:
        start = f"wave {wave.number}"
        if wave.start and wave.end:
            yield f"{start} when: {day(wave.start, clock=True)} to {day(wave.end, clock=True)}"
        yield f"{start}: {wave.name}, {hours(wave.hours)}, way back {hours(wave.way_back_hours)}"
        yield from (f"{start} task: {task.text} {hours(task.hours)}" for task in wave.tasks)
        yield from (f"{start} go only if: {text}" for text in wave.go_no_go)
        yield from (f"{start} done only when: {text}" for task in wave.tasks for text in task.done_when)
        yield from (f"{start} way back: {text}" for text in wave.rollback)
        yield f"{start} then: {_after(wave)}"
    yield from (f"caution: {entry.text} For: {listed(entry.because)}." for entry in page.cautions)
    yield f"note: {page.note}"
