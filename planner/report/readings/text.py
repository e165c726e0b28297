"""Readings after waves set against what was foretold, as text."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.figures import number
from planner.report.common.text import Cell, Line, heading, paragraph, table
from planner.report.readings.page import AgainstEntry, ReadingEntry


def readings_lines(readings: tuple[ReadingEntry, ...]) -> Iterator[Line]:
    """Set a table a reading, and under it a sentence or more for each figure."""
    if readings:
        yield from heading("Read against foretold")
    for entry in readings:
        yield from paragraph(f"{when_read(entry)}{_condition(entry)}", hang="  ")
        rows: list[tuple[Cell, ...]] = [
            (
                Cell(""),
                *(Cell(text, "dim", right=True) for text in ("foretold", "band", "read", "difference")),
            )
        ]
        yield from table([*rows, *(_row(item) for item in entry.figures)])
        for item in entry.figures:
            mark = "[ok]" if item.within else "[!!]"
            text = f"{mark} {item.what}: {'; '.join(item.words)}."
            yield from paragraph(text, style="" if item.within else "doubt", indent="    ", hang="     ")


def when_read(entry: ReadingEntry) -> str:
    """Say after which wave something was read."""
    return f"after wave {entry.wave}" if entry.wave else "before the first wave"


def _condition(entry: ReadingEntry) -> str:
    season = (
        f", in {entry.season}"
        if entry.season_said
        else f", taken for {entry.season}; say --season for another"
    )
    return season + (f" ({entry.note})" if entry.note else "")


def _row(item: AgainstEntry) -> tuple[Cell, ...]:
    foretold, band, read, difference = figures_of(item)
    style = "" if item.within else "doubt"
    return (
        Cell(item.what),
        Cell(foretold, right=True),
        Cell(band, right=True),
        Cell(read, right=True),
        Cell(difference, style, right=True),
    )


def figures_of(item: AgainstEntry) -> tuple[str, str, str, str]:
    """Write a figure's columns: foretold, band, read, difference."""
    unit = {"dBA": "dB", "°C": "K"}.get(item.unit, item.unit)
    difference = "" if item.difference is None else f"{_signed(item)} {unit}"
    band = f"{number(item.low)} to {number(item.high)}"
    return (
        f"{_plain(item, item.foretold)} {item.unit}",
        band,
        f"{_plain(item, item.read)} {item.unit}",
        difference,
    )


def _plain(item: AgainstEntry, value: float | None) -> str:
    if value is None:
        return "?"
    return f"{value:.0f}" if item.unit == "W" else f"{value:.1f}"


def _signed(item: AgainstEntry) -> str:
    value = item.difference or 0.0
    return f"{value:+.0f}" if item.unit == "W" else f"{value:+.1f}"


def readings_facts(readings: tuple[ReadingEntry, ...]) -> Iterator[str]:
    """Set one fact a line."""
    for entry in readings:
        for item in entry.figures:
            foretold, band, read, difference = figures_of(item)
            start = f"read {when_read(entry)}, {item.what}"
            yield f"{start}: {read}, foretold {foretold} ({band}), difference {difference or '?'}"
            yield f"{start}: {'; '.join(item.words)}"
