"""The before-and-after part of the plan page as text."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.figures import aligned, hours, level, listed, marked, number, short, signed
from planner.report.common.text import Cell, Line, heading, paragraph, table
from planner.report.plan.page import CoolingEntry, FigureEntry, ListenerEntry, PlanPage, SavedEntry

SITE = "site"
CIRCUIT_LOAD = "circuit load"


def cooling(entries: tuple[CoolingEntry, ...]) -> Iterator[Line]:
    """Say what cools in each season, today and then."""
    yield from heading("Cooling by season")
    yield from table([_cooling_row(entry) for entry in entries])


def _cooling_row(entry: CoolingEntry) -> tuple[Cell, ...]:
    today, then = listed(entry.today) or "nothing", listed(entry.then) or "nothing"
    words = f"{today}, as today" if today == then else f"{then} (today: {today})"
    heat = "" if entry.quiet else "; targets do not count in it"
    return (
        Cell(entry.season),
        Cell(f"{number(entry.surroundings_c)} °C outside the room{heat}"),
        Cell(words),
    )


def listeners(entries: tuple[ListenerEntry, ...]) -> Iterator[Line]:
    """Set the levels at the listeners."""
    yield from heading("Sound at each listener, in its loudest season")
    rows = [
        tuple(Cell(text, "dim") for text in ("", "today", "then", "target", "loudest then (loudest today)"))
    ]
    yield from table(rows + [_listener_row(entry) for entry in entries])
    for entry in entries:
        if entry.background_dba is not None:
            yield from paragraph(background_words(entry))


def _listener_row(entry: ListenerEntry) -> tuple[Cell, ...]:
    leads = f"{entry.leading_after or 'nothing'} ({entry.leading_before or 'nothing'})"
    if entry.met is None:
        target = Cell("none set", "dim")
    else:
        word = "met" if entry.met else "NOT met"
        target = Cell(f"{number(entry.target_dba)} {word}", "good" if entry.met else "bad")
    before, after = level(entry.before_dba), level(entry.after_dba)
    return (
        Cell(entry.listener),
        Cell(marked(before, entry.before_assumed)),
        Cell(marked(after, entry.after_assumed)),
        target,
        Cell(leads),
    )


def background_words(entry: ListenerEntry) -> str:
    """Set the room's sound against what is heard anyway; empty where no background is known."""
    if entry.background_dba is None:
        return ""
    other = f"other sound at {entry.listener} is {level(entry.background_dba)}"
    if entry.after_dba is None or entry.after_dba <= entry.background_dba:
        return f"{other}: the room then stays under it"
    return f"{other}: the room is still heard over it"


def figures(entries: tuple[FigureEntry, ...]) -> Iterator[Line]:
    """Set watts, heat, energy, money, air, temperature, space and circuits, season by season."""
    yield from heading("Before and after")
    rows: list[tuple[Cell, ...]] = [
        (Cell(""), *(Cell(text, "dim", right=True) for text in ("today ", "then ", "limit")), Cell(""))
    ]
    place = SITE
    for entry in entries:
        if entry.of not in (SITE, place) and entry.figure != CIRCUIT_LOAD:
            rows.append((Cell(f"in {entry.of}"), *(Cell("") for _ in range(4))))
        place = entry.of
        rows.append(_figure_row(entry))
    yield from table(rows)


def _figure_row(entry: FigureEntry) -> tuple[Cell, ...]:
    name = f"{entry.figure}, {entry.of}" if entry.figure == CIRCUIT_LOAD else entry.figure
    seasonal = entry.of != SITE and entry.figure != CIRCUIT_LOAD
    limit = "" if entry.limit is None else number(entry.limit)
    over = entry.limit is not None and entry.after is not None and entry.after > entry.limit + 0.05
    return (
        Cell(f"  {name}" if seasonal else name),
        Cell(aligned(number(entry.before), entry.before_assumed), right=True),
        Cell(aligned(number(entry.after), entry.after_assumed), "bad" if over else "", right=True),
        Cell(limit, right=True),
        Cell(f"{entry.unit}{'  OVER the limit' if over else ''}"),
    )


def saved(page: PlanPage) -> Iterator[Line]:
    """Set apart what placing anew saves and what measures and cooling save on top."""
    yield from heading("What saves what")
    heads = ("power", "heat", "a year", "a year")
    rows: list[tuple[Cell, ...]] = [(Cell(""), *(Cell(text, "dim", right=True) for text in heads))]
    rows += [_saved_row(entry, page.currency) for entry in page.saved]
    top, *lines = table(rows)
    yield top
    for entry, figures_line in zip(page.saved, lines, strict=True):
        yield figures_line
        yield from paragraph(f"quieter by {drops_words(entry)}", indent="    ", hang="  ")
    yield from paragraph(
        "Consolidation: only the places change; today's cooling runs on, no measure is taken. "
        "Heat: in the worst season. A minus sign: it takes more.",
        style="dim",
    )


def _saved_row(entry: SavedEntry, currency: str) -> tuple[Cell, ...]:
    sums = (
        f"{number(entry.power_w)} W",
        f"{number(entry.heat_w)} W",
        f"{number(entry.kwh_a_year)} kWh",
        f"{number(entry.money_a_year)} {currency}",
    )
    name = "Saved together" if entry.stage == "together" else f"Saved by {entry.stage}"
    return (Cell(name), *(Cell(text, right=True) for text in sums))


def drops_words(entry: SavedEntry) -> str:
    """Write by how much each listener has it quieter."""
    drops = [
        f"{'unknown' if drop is None else short(drop)} dB at {name}" for name, drop in entry.level_drop_db
    ]
    return ", ".join(drops) or "nothing: nobody listens"


def payback(page: PlanPage) -> Iterator[Line]:
    """Say when the outlay comes back."""
    yield from heading("Payback")
    yield from paragraph(payback_words(page))


def payback_words(page: PlanPage) -> str:
    """Write the payback as a sentence."""
    sums, currency = page.payback, page.currency
    costs = f"outlay {number(sums.outlay)} and work {hours(sums.hours)} worth {number(sums.labour)}"
    costs += f", together {number(sums.total)} {currency}"
    saves = f"electricity {signed(-sums.money_saved_a_year)} {currency} a year"
    if sums.years is None:
        back = "saving electricity alone never pays it back"
    elif sums.years == 0.0:
        back = "nothing has to be paid back"
    else:
        back = f"paid back in {marked(short(sums.years), sums.assumed)} years"
    return f"{costs}; {saves}; {back}"
