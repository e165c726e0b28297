"""What changed between two plans: verdicts, fates, shopping, totals with signs."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.figures import number, signed
from planner.report.common.text import Line, heading, line, paragraph
from planner.report.plan.page import PlanPage, VerdictEntry
from tui.solving.planned import Planned
from tui.theme import FATE_WORDS


def change_lines(title: str, old: Planned | None, new: Planned) -> list[Line]:
    """Set what changed against another plan; nothing where there is none."""
    if old is None:
        return []
    found = list(changes(old.page, new.page))
    lines = heading(title)
    if not found:
        return [*lines, line("  nothing changed")]
    return [*lines, *(part for text in found for part in paragraph(text, hang="  "))]


def changes(old: PlanPage, new: PlanPage) -> Iterator[str]:
    """List every change as a sentence."""
    before = {entry.service: entry for entry in old.verdicts}
    for entry in new.verdicts:
        was = before.get(entry.service)
        if was is None:
            yield f"{entry.service}: {entry.verdict} on {entry.runs_then_on} (new)"
        elif (was.verdict, was.runs_then_on) != (entry.verdict, entry.runs_then_on):
            yield f"{entry.service}: {_where(was)} -> {_where(entry)}"
    for name in before.keys() - {entry.service for entry in new.verdicts}:
        yield f"{name}: no longer there"
    yield from _fates(old, new)
    yield from _shopping(old, new)
    yield from _sums(old, new)


def _where(entry: VerdictEntry) -> str:
    return f"{entry.verdict} on {entry.runs_then_on}"


def _fates(old: PlanPage, new: PlanPage) -> Iterator[str]:
    before = {entry.box: entry.fate for entry in old.boxes}
    for entry in new.boxes:
        was = before.get(entry.box, entry.fate)
        if was != entry.fate:
            yield f"box {entry.box}: {FATE_WORDS[was]} -> {FATE_WORDS[entry.fate]}"


def _shopping(old: PlanPage, new: PlanPage) -> Iterator[str]:
    before = {(entry.sort, entry.what): entry.count for entry in old.shopping}
    after = {(entry.sort, entry.what): entry.count for entry in new.shopping}
    for key in dict.fromkeys([*before, *after]):
        was, now = before.get(key, 0), after.get(key, 0)
        if was != now:
            yield f"shopping, {key[0]} {key[1]}: {was} -> {now}"


def _sums(old: PlanPage, new: PlanPage) -> Iterator[str]:
    before = {entry.listener: entry.after_dba for entry in old.listeners}
    for entry in new.listeners:
        was = before.get(entry.listener)
        if was is not None and entry.after_dba is not None and round(entry.after_dba - was, 1):
            yield f"level, {entry.listener}: {signed(entry.after_dba - was, 1)} dB"
    watts = _watts(new) - _watts(old)
    if round(watts):
        yield f"power, mean of the year: {signed(watts)} W"
    money = new.payback.outlay - old.payback.outlay
    if round(money):
        yield f"outlay: {signed(money)} {new.currency} (now {number(new.payback.outlay)})"


def _watts(page: PlanPage) -> float:
    return next(entry.after or 0.0 for entry in page.figures if entry.figure == "power, mean of the year")
