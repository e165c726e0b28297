"""The quieting page as text, and one fact a line."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.figures import MARK, aligned, figure_name, hours, level, listed, marked, number
from planner.report.common.text import Cell, Line, clean, heading, line, paragraph, table
from planner.report.plan.text import assumed_table, few
from planner.report.quiet.page import QuietPage, RungEntry, RungLevel, SetEntry, SetLevel

ASSUMED = " (assumed)"


def quiet_lines(page: QuietPage) -> list[Line]:
    """Set the page."""
    lines = [line(f"Quieting {clean(page.site)}, {clean(page.start)}", "head")]
    lines += paragraph(f"at the start: {listed([_level(item, MARK) for item in page.levels_at_start])}")
    if page.budget_left is not None:
        lines += paragraph(f"money left for it: {number(page.budget_left)} {page.currency}")
    lines += _rungs(page)
    lines += _beside(page)
    lines += _warnings(page)
    return [*lines, line(), *paragraph(page.note, indent="")]


def _rungs(page: QuietPage) -> Iterator[Line]:
    yield from heading("Loudest first")
    if not page.rungs:
        yield from paragraph("no rung: " + page.stopped_by)
        return
    for rung in page.rungs:
        yield from paragraph(f"{rung.number}. {doing(rung)}", hang="   ")
        yield from paragraph(_why(rung), indent="     ", style="dim")
        for item in rung.levels:
            before = marked(level(item.before_dba), item.before_assumed)
            after = marked(level(item.after_dba), item.after_assumed)
            words = f"{item.listener}: {before}, then {after}{_drop(item)}"
            yield from paragraph(words, indent="     ")
        yield from paragraph(money_words(page, rung), indent="     ")
        for words in rung.cautions:
            yield from paragraph(f"! {words}", indent="     ", style="doubt", hang="  ")
    yield from paragraph(f"It ends here: {page.stopped_by}.")


def _drop(item: RungLevel) -> str:
    """Write the change: differences are foretold better than levels."""
    if item.drop_db is None:
        return ""
    change = f"{number(abs(item.drop_db), 1)} dB"
    return f" ({change} {'less' if item.drop_db >= 0.0 else 'more'})"


def doing(rung: RungEntry) -> str:
    """Write what a rung does."""
    parts = [f"{listed(rung.measures)} on {_place(rung.on)}"] if rung.measures else []
    if rung.cooling_stopped:
        parts.append(f"switch off {listed(rung.cooling_stopped)}")
    elif rung.stopped_in:
        parts.append(f"switch off {rung.on} in {listed(rung.stopped_in)}")
    if rung.cooling_started:
        parts.append(f"run {listed(rung.cooling_started)}")
    words = "; ".join(parts)
    return words + (" (its effect is assumed)" if rung.effect_assumed else "")


def _place(target: str) -> str:
    return "the room" if target == "room" else target


def _why(rung: RungEntry) -> str:
    now = rung.next_leading or "nothing"
    return f"{rung.leading or 'nothing'} leads at {rung.listener}, then {now}"


def money_words(page: QuietPage, rung: RungEntry) -> str:
    """Write what a rung costs and how warm the room gets."""
    spent = f"{number(rung.price)} {page.currency}, {hours(rung.hours)} of work"
    return f"{spent}; room at most {number(rung.warmest_c)} °C"


def _level(item: SetLevel, mark: str) -> str:
    target = "" if item.target_dba is None else f" (target {number(item.target_dba)})"
    return f"{item.listener} {level(item.level_dba)}{mark if item.assumed else ''}{target}"


def _beside(page: QuietPage) -> Iterator[Line]:
    yield from heading("Beside it, the cheapest set")
    heads = ("money ", "work", f"both ({page.currency}) ", "over the targets")
    rows = [(Cell(""), *(Cell(text, "dim", right=True) for text in heads), Cell(""))]
    rows += [_set_row(name, entry) for name, entry in sets(page)]
    yield from table(rows)
    for name, entry in sets(page)[1:]:
        yield from paragraph(f"{name}: {set_words(entry)}", hang="  ")
        yield from paragraph(
            f"leads to {listed([_level(item, MARK) for item in entry.levels])}", indent="    "
        )
    for words in comparison(page):
        yield from paragraph(words)


def sets(page: QuietPage) -> list[tuple[str, SetEntry]]:
    """Look up the ladder's end and the sets that are shown beside it, with their names."""
    found = [("the ladder", page.ladder)]
    same = page.equal == page.best
    if page.equal is not None and not same:
        found.append(("cheapest set as quiet", page.equal))
    if page.best is not None:
        found.append(("cheapest set", page.best))
    return found


def _set_row(name: str, entry: SetEntry) -> tuple[Cell, ...]:
    state = ("proven", "good") if entry.proven else ("", "")
    return (
        Cell(name),
        Cell(aligned(number(entry.price), False), right=True),
        Cell(hours(entry.hours), right=True),
        Cell(aligned(number(entry.cost), False), right=True),
        Cell("none" if entry.over_db <= 0.0 else f"{number(entry.over_db, 1)} dB", right=True),
        Cell(*state),
    )


def set_words(entry: SetEntry) -> str:
    """Write what a set takes and runs."""
    runs = [f"{listed(names) or 'nothing'} in {season}" for season, names in entry.cooling]
    return f"{listed(entry.measures) or 'no measure'}; cooling: {listed(runs)}"


def comparison(page: QuietPage) -> Iterator[str]:
    """Write what the ladder costs more than the cheapest set that is as quiet, and what it misses."""
    more, equal = page.ladder_costs_more, page.equal
    if more is None or equal is None:
        yield "No cheapest set was found before the search ended: give --time more."
        return
    sure = "proven" if equal.proven else "not proven to be the cheapest"
    if more <= 0.005:
        yield f"The ladder costs no more than the cheapest set as quiet ({sure})."
    else:
        share = f", {number(100.0 * more / equal.cost)} % more" if equal.cost > 0.0 else ""
        words = f"The ladder costs {number(more)} {page.currency} more than the cheapest set as quiet{share}"
        yield f"{words} (work counted; {sure})."
    if page.best is not None and page.best.over_db < page.ladder.over_db:
        misses = f"The ladder ends {number(page.ladder.over_db, 1)} dB over the targets"
        reached = "meets them" if page.best.over_db <= 0.0 else f"comes to {number(page.best.over_db, 1)} dB"
        yield f"{misses}; the cheapest set, for {number(page.best.cost)} {page.currency}, {reached}."


def _warnings(page: QuietPage) -> Iterator[Line]:
    if page.cautions:
        yield from heading("Cautions that come with the ladder")
    for entry in page.cautions:
        yield from paragraph(f"! {entry.text} (For: {few(entry.because)}.)", hang="  ")
    if page.assumed:
        yield from heading(f"Assumed: figures marked {MARK} rest on these, which nobody measured or declared")
        yield from assumed_table(page.assumed)


def quiet_plain(page: QuietPage) -> list[Line]:
    """Set the page with one fact a line."""
    return [line(clean(text)) for text in _facts(page)]


def _facts(page: QuietPage) -> Iterator[str]:
    yield f"site: {page.site}, {page.start}"
    for item in page.levels_at_start:
        yield f"at the start: {_level(item, ASSUMED)}"
    if page.budget_left is not None:
        yield f"money left: {number(page.budget_left)} {page.currency}"
    for rung in page.rungs:
        yield from _rung_facts(page, rung)
    yield f"the ladder ends: {page.stopped_by}"
    for name, entry in sets(page):
        proven = ", proven" if entry.proven else ""
        spent = f"{number(entry.price)} {page.currency}, {hours(entry.hours)} of work"
        yield f"{name}: {spent}, together {number(entry.cost)} {page.currency}{proven}; {set_words(entry)}"
        for item in entry.levels:
            yield f"{name} leads to: {_level(item, ASSUMED)}"
    yield from comparison(page)
    for caution in page.cautions:
        yield f"caution: {caution.text} For: {listed(caution.because)}."
    for guess in page.assumed:
        yield f"assumed for {guess.of}: {', '.join(map(figure_name, guess.figures))}"
    yield f"note: {page.note}"


def _rung_facts(page: QuietPage, rung: RungEntry) -> Iterator[str]:
    start = f"rung {rung.number}"
    yield f"{start}: {doing(rung)}"
    yield f"{start}: {_why(rung)}"
    for item in rung.levels:
        before = level(item.before_dba) + (ASSUMED if item.before_assumed else "")
        after = level(item.after_dba) + (ASSUMED if item.after_assumed else "")
        yield f"{start}: {item.listener} {before}, then {after}{_drop(item)}"
    yield f"{start}: {money_words(page, rung)}"
    for words in rung.cautions:
        yield f"{start}: caution: {words}"
