"""The plan page with one fact a line, for screen readers, logs and line tools."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.figures import figure_name, hours, listed, number, short
from planner.report.common.text import Line, clean, line
from planner.report.plan import conditions_text, failover_text
from planner.report.plan.ledger_text import background_words, payback_words
from planner.report.plan.page import FigureEntry, PlanPage, ProofEntry, SavedEntry
from planner.report.plan.text import BY_ONE_RUN, listener_words, proof_outcome

ASSUMED = " (assumed)"


def plan_plain(page: PlanPage) -> list[Line]:
    """Set a plan page with one fact a line."""
    sections = (_verdicts(page), _things(page), _ledger(page), _proof(page), _warnings(page))
    return [line(clean(text)) for section in sections for text in section]


def _mark(assumed: bool) -> str:
    return ASSUMED if assumed else ""


def _verdicts(page: PlanPage) -> Iterator[str]:
    yield f"site: {page.site}"
    yield f"outcome: {proof_outcome(page)}"
    for entry in page.verdicts:
        why = f"; {entry.reason}" if entry.reason else ""
        moved = f"today on {entry.runs_today_on}, then on {entry.runs_then_on}"
        yield f"service {entry.service}: {entry.verdict}, {moved}{why}"


def _things(page: PlanPage) -> Iterator[str]:
    for box in page.boxes:
        power = f"{number(box.power_today_w)} W today{_mark(box.assumed)}"
        yield f"box {box.box}: {box.fate}, {power}; {box.reason}"
    for machine in page.machines:
        made = "new " if machine.bought else ""
        carries = listed(machine.carries) or "nothing"
        what = f"{made}{machine.role} on circuit {machine.circuit}"
        yield f"machine {machine.machine}: {what}, carries {carries}"
    yield from failover_text.facts(page)
    for name in page.switch_off:
        yield f"may be switched off: {name}"
    for item in page.shopping:
        price = f"{number(item.price)} {page.currency}{_mark(item.assumed)}"
        yield f"shopping list: {item.count} x {item.what} ({item.sort}), {price}, work {hours(item.hours)}"
    for measure in page.measures:
        yield f"measure: {measure.measure}, on {measure.target}"
    for season in page.cooling:
        today, then = listed(season.today) or "nothing", listed(season.then) or "nothing"
        yield f"cooling in {season.season}: today {today}, then {then}"


def _ledger(page: PlanPage) -> Iterator[str]:
    for entry in page.listeners:
        leads = f"loudest today {entry.leading_before or 'nothing'}, then {entry.leading_after or 'nothing'}"
        yield f"listener {listener_words(entry)}; {leads}{_mark(entry.before_assumed or entry.after_assumed)}"
        if entry.background_dba is not None:
            yield f"listener {entry.listener}: {background_words(entry)}"
    yield from conditions_text.facts(page)
    for figure in page.figures:
        yield figure_words(figure)
    for stage in page.saved:
        yield from _saved(stage, page.currency)
    yield f"payback: {payback_words(page)}"


def figure_words(entry: FigureEntry) -> str:
    """Write one before-and-after figure as a line."""
    name = entry.figure if entry.of == "site" else f"{entry.figure}, {entry.of}"
    limit = "" if entry.limit is None else f", limit {number(entry.limit)}"
    today = f"today {number(entry.before)} {entry.unit}{_mark(entry.before_assumed)}"
    then = f"then {number(entry.after)} {entry.unit}{_mark(entry.after_assumed)}"
    return f"{name}: {today}, {then}{limit}"


def _saved(entry: SavedEntry, currency: str) -> Iterator[str]:
    start = f"saved by {entry.stage}" if entry.stage != "together" else "saved together"
    for name, drop in entry.level_drop_db:
        yield f"{start}: {'unknown' if drop is None else short(drop)} dB at {name}"
    yield f"{start}: {number(entry.power_w)} W mean of the year"
    yield f"{start}: {number(entry.heat_w)} W of heat in the worst season"
    yield f"{start}: {number(entry.kwh_a_year)} kWh a year"
    yield f"{start}: {number(entry.money_a_year)} {currency} a year"


def _proof(page: PlanPage) -> Iterator[str]:
    for entry in page.proof:
        yield f"aim {entry.aim} ({entry.means}): {proof_words(entry)}"
    for said in page.contradictions:
        yield f"solvers contradicted each other, and neither was believed: {said}"


def proof_words(entry: ProofEntry) -> str:
    """Write how close an aim's value is to the best possible."""
    unit = f" {entry.unit}" if entry.unit else ""
    if entry.proven:
        shown = BY_ONE_RUN if entry.confirmed_by is None else f", confirmed by {entry.confirmed_by}"
        return f"{short(entry.value)}{unit}, proven{shown}"
    bound = "no bound known" if entry.bound is None else f"best possible at least {short(entry.bound)}{unit}"
    gap = "" if entry.gap is None else f", gap {short(entry.gap)}{unit}"
    return f"{short(entry.value)}{unit}, not proven, {bound}{gap}"


def _warnings(page: PlanPage) -> Iterator[str]:
    for caution in page.cautions:
        yield f"caution: {caution.text} For: {listed(caution.because)}."
    for item in page.assumed:
        yield f"assumed for {item.of}: {', '.join(map(figure_name, item.figures))}"
    yield f"note: {page.note}"
