"""The runbook: an order as Markdown with boxes to tick, for the person who carries it out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import Ledger, ledger
from planner.moves.documents.markdown import plain, table
from planner.moves.documents.wave_page import chapter, when
from planner.moves.tasks.wave import Order
from planner.moves.tracking.comparison import Against, Compared

FIRST_WORDS = (
    "Figures are estimates; local code and licensed practice come first. Read a wave to its end before it "
    "begins. No wave begins before all of its go/no-go boxes are ticked; a step is done once the boxes under "
    "it are. When in doubt, or when the clock says so, take the way back."
)
PEOPLE = (
    "carries it out",
    "second pair of hands",
    "decides on go or no-go",
    "tells the users",
    "electrician",
    "door, alarm, cooling of the house",
)


def runbook(site: Site, order: Order, read: Sequence[Compared] = (), before: State | None = None) -> str:
    """Write the runbook of an order: what to know first, what was read so far, then a chapter a wave.

    ``before`` is the state in which the first of its waves begins; today's unless something is done already.
    """
    lines = [f"# Runbook: {plain(site.name)}", "", FIRST_WORDS, ""]
    lines += [*table(["Who", "Name", "Telephone"], [[who, "", ""] for who in PEOPLE]), ""]
    state = before or state_today(site)
    lines += _overview(site, order, "now" if before else "today", state)
    if order.notes or order.breaches:
        lines += ["", "## Before anything else", ""]
        lines += [f"- {plain(text)}" for text in (*order.notes, *order.breaches)]
    if read:
        lines += ["", "## Read so far", ""]
    for item in read:
        lines += _read(item)
    for wave in order.waves:
        lines += ["", *chapter(site, wave, state)]
        state = wave.state_after
    return "\n".join(lines).rstrip("\n") + "\n"


def _overview(site: Site, order: Order, first: str, state: State) -> Iterator[str]:
    names = [item.name for item in site.listeners]
    dated = any(wave.start is not None for wave in order.waves)
    heads = ["Wave", *(["When"] if dated else []), "Work", *map(plain, names), "Watts", "Warmest", "Done"]
    rows = [_row(first, None, "", ledger(site, state), names, dated=dated, box="")]
    for wave in order.waves:
        work = f"{wave.hours:.1f} h" + (f" + {wave.way_back_h:.1f} h back" if wave.way_back_h else "")
        title = f"{wave.number} {plain(wave.name)}"
        rows.append(_row(title, wave.start, work, wave.ledger, names, dated=dated, box="☐"))
    yield from table(heads, rows)


def _row(
    title: str, start: datetime | None, work: str, book: Ledger, names: list[str], *, dated: bool, box: str
) -> list[str]:
    warmest_c = max((season.temperature_c for season in book.seasons), default=0.0)
    levels = [f"{book.levels_dba[name]:.0f} dBA" for name in names]
    figures = [f"{book.mean_power_w:.0f} W", f"{warmest_c:.0f} °C"]
    return [title, *([when(start)] if dated else []), work, *levels, *figures, box]


def _read(item: Compared) -> Iterator[str]:
    place = f"After wave {item.wave}" if item.wave else "Before the first wave"
    note = f" ({plain(item.reading.note)})" if item.reading.note else ""
    yield f"{place}, taken for {plain(item.season)}{note}:"
    yield ""
    rows = [_against(figure) for figure in item.figures]
    yield from table(["What", "Foretold", "Band", "Read", "Difference"], rows)
    yield ""
    yield from (f"- {plain(figure.what)}: {plain('; '.join(figure.words))}." for figure in item.figures)
    yield ""


def _against(item: Against) -> list[str]:
    digits = 0 if item.unit == "W" else 1
    band = f"{item.low:.0f} to {item.high:.0f}"
    said = [f"{value:.{digits}f} {item.unit}" for value in (item.foretold, item.read)]
    return [plain(item.what), said[0], band, said[1], f"{item.difference:+.{digits}f}"]
