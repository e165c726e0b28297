"""The plan page as text, 80 columns wide: what to do, what it brings, what it costs, how sure it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from planner.report.common.entries import AssumedEntry, CautionEntry
from planner.report.common.figures import (
    MARK,
    aligned,
    figure_name,
    hours,
    level,
    listed,
    number,
    plural,
    short,
)
from planner.report.common.text import Cell, Line, heading, line, paragraph, stopper, table
from planner.report.plan import conditions_text, failover_text, ledger_text
from planner.report.plan.page import (
    BoxEntry,
    ListenerEntry,
    PlanPage,
    ProofEntry,
    ShoppingEntry,
    VerdictEntry,
)

VERDICTS = {
    "virtualise": "virtualise: becomes a guest of a host",
    "appliance": "appliance: gets a small machine of its own",
    "tower": "tower: moves to a large quiet machine",
    "keep": "keep: runs on as and where it is",
}
BY_ONE_RUN = " by one solver run"
"""Added where a proof was not confirmed by anything but the run that found it."""

FATES = {"retire": "switch off", "reuse": "re-use as host", "keep": "keep"}


LEAST_TOLD_DB = 0.05
"""What a target is missed by is told from here on, where whole decibels do not show it."""


def plan_lines(page: PlanPage, by_hour: Iterable[Line] = ()) -> list[Line]:
    """Set a plan page; ``by_hour``: what it saves that peaks do not coincide, where that was looked at."""
    sections = (
        _top(page),
        _services(page.verdicts),
        _boxes(page),
        failover_text.spare(page),
        by_hour,
        _shopping(page),
        _measures(page),
        ledger_text.cooling(page.cooling),
        ledger_text.listeners(page.listeners),
        conditions_text.hearing(page.hearing),
        ledger_text.figures(page.figures),
        conditions_text.standing(page),
        ledger_text.saved(page),
        ledger_text.payback(page),
        _proof(page),
        _cautions(page.cautions),
        _assumed(page),
        [line(), *paragraph(page.note, indent="")],
    )
    return [item for section in sections for item in section]


def _top(page: PlanPage) -> Iterator[Line]:
    yield line(f"Plan for {page.site}", "head")
    for entry in page.listeners:
        style = {None: "", True: "good", False: "bad"}[entry.met]
        yield from paragraph(listener_words(entry), style=style)
    power = next(entry for entry in page.figures if entry.figure == "power, mean of the year")
    yield from paragraph(
        f"power, mean of the year: {number(power.before)} W today, {number(power.after)} W then"
    )
    yield from paragraph(
        f"outlay {number(page.payback.outlay)} {page.currency}, work {hours(page.payback.hours)}; "
        f"{plural(len(page.switch_off), 'thing') if page.switch_off else 'nothing'} may be switched off"
    )
    style = "good" if page.outcome == "proven" else "doubt"
    yield from paragraph(proof_outcome(page), style=style)


def listener_words(entry: ListenerEntry) -> str:
    """Write a listener's levels as a sentence."""
    words = f"{entry.listener}: {level(entry.before_dba)} today, {level(entry.after_dba)} then"
    if entry.met is None:
        return f"{words}, no target set"
    words = f"{words}, target {level(entry.target_dba)}"
    if entry.met:
        return f"{words} met"
    if level(entry.after_dba) != level(entry.target_dba):
        return f"{words} NOT met"
    over_db = (entry.after_dba or 0.0) - (entry.target_dba or 0.0)
    return f"{words} NOT met, by {number(over_db, 1)} dB" if over_db >= LEAST_TOLD_DB else f"{words} NOT met"


def proof_outcome(page: PlanPage) -> str:
    """Write how far the plan is proven to be the best, and by how many runs."""
    alone = any(entry.proven and entry.confirmed_by is None for entry in page.proof)
    return outcome_words(page.outcome, page.stopped_by, alone=alone)


def outcome_words(outcome: str, stopped_by: str, *, alone: bool = False) -> str:
    """Write how far a plan is proven to be the best; ``alone``: by one run of a solver."""
    words = {
        "proven": f"proven{BY_ONE_RUN if alone else ''}: no plan is better under these aims in this order",
        "within the asked gap": "proven to lie within the gap that was asked for",
        "stopped with a plan": "checked, but not proven to be the best",
    }.get(outcome, outcome)
    return f"{words} (stopped by {stopper(stopped_by)})" if stopped_by else words


def _services(verdicts: tuple[VerdictEntry, ...]) -> Iterator[Line]:
    yield from heading("What happens to each service")
    for name, words in VERDICTS.items():
        group = [entry for entry in verdicts if entry.verdict == name]
        if group:
            yield line()
            yield line(f"  {words} ({len(group)})")
            yield from table([_service_row(entry) for entry in group], indent="    ")


def _service_row(entry: VerdictEntry) -> tuple[Cell, ...]:
    stays = entry.runs_today_on == entry.runs_then_on
    where = f"on {entry.runs_then_on}" if stays else f"{entry.runs_today_on} -> {entry.runs_then_on}"
    return (Cell(entry.service), Cell(where), Cell(entry.reason, "dim"))


def _boxes(page: PlanPage) -> Iterator[Line]:
    yield from heading("What happens to each box")
    yield from table([_box_row(entry) for entry in sorted(page.boxes, key=_by_fate)])
    bought = [machine for machine in page.machines if machine.bought]
    if bought:
        yield from heading("New machines")
        yield from table(
            [
                (Cell(item.machine), Cell(item.role), Cell(f"on {item.circuit}"), Cell(listed(item.carries)))
                for item in bought
            ]
        )
    if page.switch_off:
        yield from heading("May be switched off once its wave's rollback window has passed")
        yield from paragraph(", ".join(page.switch_off))


def _by_fate(entry: BoxEntry) -> int:
    return list(FATES).index(entry.fate)


def _box_row(entry: BoxEntry) -> tuple[Cell, ...]:
    power = aligned(f"{number(entry.power_today_w)} W", entry.assumed)
    return (Cell(entry.box), Cell(FATES[entry.fate]), Cell(power, right=True), Cell(entry.reason, "dim"))


def _shopping(page: PlanPage) -> Iterator[Line]:
    yield from heading(f"Shopping list ({page.currency})")
    if not page.shopping:
        yield from paragraph("nothing to buy and nothing to build")
        return
    heads = (Cell(text, "dim", right=True) for text in ("each", "price ", "work"))
    rows: list[tuple[Cell, ...]] = [(Cell(""), Cell(""), *heads)]
    rows += [_shopping_row(entry) for entry in page.shopping]
    total, work = number(page.payback.outlay), hours(page.payback.hours)
    rows.append(
        (
            Cell("together"),
            Cell(""),
            Cell(""),
            Cell(aligned(total, False), right=True),
            Cell(work, right=True),
        )
    )
    yield from table(rows)


def _shopping_row(entry: ShoppingEntry) -> tuple[Cell, ...]:
    return (
        Cell(f"{entry.count} x {entry.what}"),
        Cell(entry.sort),
        Cell(number(entry.price_each), right=True),
        Cell(aligned(number(entry.price), entry.assumed), right=True),
        Cell(hours(entry.hours), right=True),
    )


def _measures(page: PlanPage) -> Iterator[Line]:
    yield from heading("Quieting measures")
    if not page.measures:
        yield from paragraph("none taken")
    yield from table([(Cell(entry.measure), Cell(f"on {entry.target}")) for entry in page.measures])


def _proof(page: PlanPage) -> Iterator[Line]:
    yield from heading("Proof, aim by aim in your order")
    heads = (
        Cell(""),
        Cell(""),
        *(Cell(text, "dim", right=True) for text in ("value", "best possible", "gap")),
    )
    yield from table([(*heads, Cell("")), *(_proof_row(entry) for entry in page.proof)])
    yield from paragraph(proof_outcome(page))
    yield from contradiction_lines(page.contradictions)


def contradiction_lines(contradictions: Sequence[str]) -> Iterator[Line]:
    """Write where runs of solvers contradicted each other."""
    for said in contradictions:
        yield from paragraph(f"Solvers contradicted each other; neither was believed: {said}.", style="doubt")


def _proof_row(entry: ProofEntry) -> tuple[Cell, ...]:
    alone = entry.proven and entry.confirmed_by is None
    proven = Cell("by one run", "doubt") if alone else Cell("proven", "good")
    state = proven if entry.proven else Cell("not proven", "doubt")
    figures = (
        _with_unit(entry.value, entry.unit),
        _bound(entry),
        "unknown" if entry.gap is None else short(entry.gap),
    )
    return (Cell(entry.aim), Cell(entry.means), *(Cell(text, right=True) for text in figures), state)


def _with_unit(value: float | None, unit: str) -> str:
    return f"{short(value)} {unit}" if unit else short(value)


def _bound(entry: ProofEntry) -> str:
    if entry.bound is None:
        return "unknown"
    return short(entry.bound) if entry.proven else f"at least {short(entry.bound)}"


def _cautions(cautions: tuple[CautionEntry, ...]) -> Iterator[Line]:
    if not cautions:
        return
    yield from heading("Cautions that come with this plan")
    for entry in cautions:
        yield from paragraph(f"! {entry.text} (For: {few(entry.because)}.)", hang="  ")


def few(names: tuple[str, ...], most: int = 4) -> str:
    """Write some names, and how many more there are."""
    if len(names) <= most:
        return listed(names)
    return f"{', '.join(names[: most - 1])} and {len(names) - most + 1} more"


def _assumed(page: PlanPage) -> Iterator[Line]:
    if page.assumed:
        yield from heading(f"Assumed: figures marked {MARK} rest on these, which nobody measured or declared")
        yield from assumed_table(page.assumed)


def assumed_table(entries: tuple[AssumedEntry, ...]) -> list[Line]:
    """Set assumed figures, each with the things it is assumed of."""
    things: dict[str, list[str]] = {}
    for entry in entries:
        for figure in entry.figures:
            things.setdefault(figure_name(figure), []).append(entry.of)
    return table([(Cell(figure), Cell(", ".join(names), "dim")) for figure, names in sorted(things.items())])
