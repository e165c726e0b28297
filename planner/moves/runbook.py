"""The runbook: an order as Markdown with boxes to tick, for the person who carries it out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from planner import facts
from planner.hazards import text_of
from planner.ledger import Ledger, today_ledger
from planner.moves.wave import Order, Wave
from planner.order import Sort, Task
from planner.site import Site

ESCAPED = str.maketrans({char: f"\\{char}" for char in "\\`*_[]<>#|"})


def plain(text: str) -> str:
    """Give a text from a file so that Markdown shows it as it is, on one line."""
    return " ".join(text.split()).translate(ESCAPED)


def runbook(site: Site, order: Order) -> str:
    """Give the runbook of an order: what to know first, then a chapter a wave."""
    lines = [f"# Runbook: {plain(site.name)}", ""]
    lines += [
        "Figures are estimates; local code and licensed practice come first. Tick each box as it is done; "
        "no wave starts before all of its go/no-go boxes are ticked.",
        "",
    ]
    lines += _table(site, order)
    if order.notes or order.breaches:
        lines += ["", "## Before anything else", ""]
        lines += [f"- {plain(text)}" for text in (*order.notes, *order.breaches)]
    for wave in order.waves:
        lines += ["", *_wave(wave)]
    return "\n".join(lines) + "\n"


def _table(site: Site, order: Order) -> Iterator[str]:
    names = [item.name for item in site.listeners]
    heads = ["Wave", "When", "Work", *(f"{plain(name)}" for name in names), "Watts", "Warmest"]
    yield "| " + " | ".join(heads) + " |"
    yield "|" + " --- |" * len(heads)
    yield _row("today", "", "", today_ledger(site), names)
    for wave in order.waves:
        work = f"{wave.hours:.1f} h + {wave.way_back_h:.1f} h back"
        yield _row(f"{wave.number} {plain(wave.name)}", _when(wave.start), work, wave.ledger, names)


def _row(wave: str, when: str, work: str, book: Ledger, names: list[str]) -> str:
    levels = [f"{book.levels_dba[name]:.0f} dBA" for name in names]
    figures = [f"{book.mean_power_w:.0f} W", f"{_warmest_c(book):.0f} °C"]
    return "| " + " | ".join([wave, when, work, *levels, *figures]) + " |"


def _warmest_c(book: Ledger) -> float:
    return max((season.temperature_c for season in book.seasons), default=0.0)


def _when(moment: datetime | None) -> str:
    return "" if moment is None else f"{moment:%a %Y-%m-%d %H:%M %Z}"


def _wave(wave: Wave) -> Iterator[str]:
    yield f"## Wave {wave.number}: {plain(wave.name)}"
    yield ""
    if wave.start is not None and wave.end is not None:
        yield f"From {_when(wave.start)} to {_when(wave.end)}."
    yield f"Work {wave.hours:.1f} h; the way back takes {wave.way_back_h:.1f} h more."
    yield ""
    yield from _boxes("Days before", _before(wave))
    yield from _boxes("Go or no-go", [plain(text) for text in wave.go_no_go])
    yield from _list("Cautions", [plain(text_of(item)) for item in wave.cautions])
    yield from _list("Strained on the way", [plain(text) for text in wave.breaches])
    yield from _boxes("Steps", [_task(task) for task in wave.tasks])
    yield from _list("Way back", [plain(text) for text in wave.rollback])
    yield _deadline(wave)
    yield ""
    yield from _list("Expected afterwards", _expected(wave.ledger, wave.rack_u))


def _boxes(title: str, texts: list[str]) -> Iterator[str]:
    yield from _block(title, [f"- [ ] {text}" for text in texts])


def _list(title: str, texts: list[str]) -> Iterator[str]:
    yield from _block(title, [f"- {text}" for text in texts])


def _block(title: str, lines: list[str]) -> Iterator[str]:
    if lines:
        yield from (f"### {title}", "", *lines, "")


def _task(task: Task) -> str:
    return f"{plain(task.text)} ({task.hours:.1f} h)"


def _before(wave: Wave) -> list[str]:
    """Give what is done days before: name records, restores, samples, replicas."""
    found = []
    for task in wave.tasks:
        if task.sort is not Sort.MOVE:
            continue
        name = plain(task.subject)
        found.append(
            f"{_by(wave, 2)}the name record of {name} lives {facts.TTL_S} s at most, "
            "since one old time to live"
        )
        found.append(f"{_by(wave, facts.HOLD_DAYS)}or later: {name} is backed up and restored as a test")
        found.append(f"CPU, memory, disk and network of {name} are sampled over 2 to 4 weeks")
        if task.method == "replicate":
            found.append(f"{_by(wave, 2)}the replica of {name} on {plain(task.goal)} is seeded")
    return found


def _by(wave: Wave, days: int) -> str:
    if wave.start is None:
        return f"{days} days before, "
    return f"on {wave.start - timedelta(days=days):%a %Y-%m-%d}, "


def _deadline(wave: Wave) -> str:
    if wave.rollback_deadline is None:
        return (
            f"Until {wave.rollback_days} days after this wave the old machines stay in place, intact and off."
        )
    return f"Until {_when(wave.rollback_deadline)} the old machines stay in place, intact and off."


def _expected(book: Ledger, rack_units: int) -> list[str]:
    levels = [
        f"{plain(name)}: {level:.0f} dBA, led by {plain(book.leading[name]) or 'nothing'}"
        for name, level in book.levels_dba.items()
    ]
    seasons = [f"{plain(item.season)}: {item.temperature_c:.1f} °C" for item in book.seasons]
    return [
        *levels,
        f"{book.mean_power_w:.0f} W at the wall over the year",
        *seasons,
        f"{rack_units} rack units",
    ]
