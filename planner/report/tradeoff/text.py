"""The trade-off page as text 80 columns wide, one fact a line, and as a table for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from planner.report.common.figures import MARK, level, listed, number, plural, short
from planner.report.common.text import Cell, Line, clean, heading, line, paragraph, stopper, table
from planner.report.plan.text import BY_ONE_RUN, contradiction_lines
from planner.report.tradeoff.page import PointEntry, TradeoffPage

RECOMMENDED = ">"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the start of a formula."""


def tradeoff_lines(page: TradeoffPage) -> list[Line]:
    """Set the page."""
    lines = [line(f"Trade-off for {clean(page.site)}: sound, power and money", "head")]
    lines += paragraph(outcome_words(page), style="good" if page.outcome == "proven" else "doubt")
    for reason in page.reasons:
        lines += paragraph(f"- {reason}", hang="  ")
    lines += contradiction_lines(page.contradictions)
    if not page.points:
        return lines
    lines += [line(), *_points(page), *_recommended(page)]
    return [*lines, line(), *paragraph(page.note, indent="")]


def outcome_words(page: TradeoffPage) -> str:
    """Say whether these are all points, and how far they are proven."""
    count = plural(len(page.points), "point")
    if page.outcome == "proven":
        proven = "proven" if page.confirmed else f"proven{BY_ONE_RUN}"
        return f"{count}: {proven} to be all there are, and no plan beats any of them in all three"
    if not page.points:
        return page.outcome + (f" (stopped by {stopper(page.stopped_by)})" if page.stopped_by else "")
    count_proven = sum(item.proven for item in page.points)
    gaps = plural(page.zones, "gap")
    stopped = f"; stopped by {stopper(page.stopped_by)}" if page.stopped_by else ""
    return f"{count}, {count_proven} of them proven; {gaps} between them not searched yet{stopped}"


def _points(page: TradeoffPage) -> Iterator[Line]:
    sound = "over target" if page.unit == "dB" else "loudest"
    heads = ("", sound, "power", page.currency, "")
    rows = [(*(Cell(text, "dim", right=True) for text in heads), Cell("bought, boxes that stay on", "dim"))]
    rows += [_row(page, entry) for entry in page.points]
    yield from table(rows)


def _row(page: TradeoffPage, entry: PointEntry) -> tuple[Cell, ...]:
    mark = f"{RECOMMENDED if entry.recommended else ' '} {entry.number}"
    style = "head" if entry.recommended else ""
    return (
        Cell(mark, style, right=True),
        Cell(sound_words(page, entry), style, right=True),
        Cell(f"{number(entry.power_w)} W", style, right=True),
        Cell(number(entry.cost), style, right=True),
        _proof_cell(entry),
        Cell(done_words(entry)),
    )


def _proof_cell(entry: PointEntry) -> Cell:
    if not entry.proven:
        return Cell("open", "doubt")
    return Cell("proven", "good") if entry.confirmed else Cell("by one run", "doubt")


def sound_words(page: TradeoffPage, entry: PointEntry) -> str:
    """Write a point's place on the scale."""
    assumed = MARK if any(item.assumed for item in entry.levels) else ""
    if page.unit == "dB" and entry.sound_db == 0.0:
        return f"met{assumed}"
    return f"{number(entry.sound_db, 1)} {page.unit}{assumed}"


def done_words(entry: PointEntry) -> str:
    """Write what is bought for a point, and how many boxes, measures and cooling options stay or come."""
    bought = listed(entry.bought) or "nothing bought"
    boxes = plural(len(entry.boxes_on), "box", "boxes") + " on"
    measures = plural(len(entry.measures), "measure") if entry.measures else "no measure"
    return f"{bought}; {boxes}, {measures}, cooling: {listed(entry.cooling) or 'none'}"


def _recommended(page: TradeoffPage) -> Iterator[Line]:
    for entry in page.points:
        if entry.recommended:
            yield from heading(f"Recommended: point {entry.number}")
            yield from paragraph(page.because)
            yield from paragraph(f"levels: {listed([_level(item) for item in _levels(entry)])}")
            if entry.measures:
                yield from paragraph(f"measures: {listed(entry.measures)}")


def _levels(entry: PointEntry) -> list[tuple[str, float | None, bool]]:
    return [(item.listener, item.level_dba, item.assumed) for item in entry.levels]


def _level(item: tuple[str, float | None, bool]) -> str:
    return f"{item[0]} {level(item[1])}{MARK if item[2] else ''}"


def tradeoff_plain(page: TradeoffPage) -> list[Line]:
    """Set the page with one fact a line."""
    return [line(clean(text)) for text in _facts(page)]


def _facts(page: TradeoffPage) -> Iterator[str]:
    yield f"site: {page.site}"
    yield f"outcome: {outcome_words(page)}"
    for reason in page.reasons:
        yield f"reason: {reason}"
    for entry in page.points:
        start = f"point {entry.number}"
        place = f"{number(entry.sound_db, 1)} {page.unit} {page.scale}"
        proof = "proven" if entry.proven else f"not proven, {_gaps(page, entry)}"
        yield f"{start}: {place}, {number(entry.power_w)} W, {number(entry.cost)} {page.currency}, {proof}"
        yield f"{start}: {done_words(entry)}"
        for item in entry.levels:
            assumed = " (assumed)" if item.assumed else ""
            yield f"{start}: {item.listener} {level(item.level_dba)}{assumed}"
        if entry.recommended:
            yield f"recommended: point {entry.number}, {page.because}"
    yield f"note: {page.note}"


def _gaps(page: TradeoffPage, entry: PointEntry) -> str:
    parts = (
        (entry.sound_gap_db, "dB"),
        (entry.power_gap_w, "W"),
        (entry.cost_gap, page.currency),
    )
    known = [f"{short(gap)} {unit}" for gap, unit in parts if gap]
    return f"gap at most {listed(known)}" if known else "gap unknown"


def tradeoff_csv(page: TradeoffPage) -> str:
    """Write the points as comma-separated values; no cell can be taken for a formula."""
    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\n")
    listeners = [item.listener for item in page.points[0].levels] if page.points else []
    writer.writerow(
        [
            "point",
            f"sound {page.scale} ({page.unit})",
            "power (W)",
            harmless(f"cost ({page.currency})"),
            harmless(f"outlay ({page.currency})"),
            "work (h)",
            *(harmless(f"{name} (dBA)") for name in listeners),
            *("bought", "measures", "cooling", "boxes on", "recommended", "proven"),
        ]
    )
    writer.writerows(_csv_row(entry) for entry in page.points)
    return made.getvalue()


def _csv_row(entry: PointEntry) -> list[object]:
    names = (entry.bought, entry.measures, entry.cooling, entry.boxes_on)
    return [
        entry.number,
        entry.sound_db,
        entry.power_w,
        entry.cost,
        entry.outlay,
        entry.hours,
        *("" if item.level_dba is None else item.level_dba for item in entry.levels),
        *(harmless(", ".join(items)) for items in names),
        "yes" if entry.recommended else "no",
        "yes" if entry.proven else "no",
    ]


def harmless(text: str) -> str:
    """Write a text that no spreadsheet takes for a formula, without characters that steer a terminal."""
    cleaned = clean(text)
    return f"'{cleaned}" if cleaned.startswith(FORMULA_STARTS) else cleaned
