"""Alternatives to a plan as data and as text: what each decides otherwise, in words and numbers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planner.domain.plan import Plan, aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.ledger import ledger
from planner.placement.studies.alternatives import Alternatives, Decisions, Sort, decisions
from planner.report.common.figures import listed, number, plural, short, signed
from planner.report.common.text import Line, clean, heading, line, paragraph, stopper


@dataclass(frozen=True)
class AlternativeEntry:
    """A plan within the margins: what it decides otherwise than the plan, and what that brings and costs.

    ``otherwise`` is in words; the differences are this plan's figures less those of the plan. ``proven``: no
    plan within the margins that decides otherwise in ``sort`` than those before it is better.
    """

    number: int
    sort: str
    otherwise: tuple[str, ...]
    sound_more_db: float
    power_more_w: float
    cost_more: float
    things_changed: int
    proven: bool


@dataclass(frozen=True)
class AlternativesPage:
    """All alternatives. ``none_left``: what cannot be decided otherwise within the margins, proven."""

    currency: str
    sound_margin_db: float
    power_margin: float
    cost_margin: float
    entries: tuple[AlternativeEntry, ...]
    none_left: tuple[str, ...]
    stopped_by: str


def alternatives_page(site: Site, plan: Plan, found: Alternatives) -> AlternativesPage:
    """Build the page of the alternatives to a plan."""
    book = ledger(site, plan.state)
    base = {aim: aim_value(site, plan.state, book, aim) for aim in Aim}
    entries = []
    for index, item in enumerate(found.found, 1):
        mine = ledger(site, item.plan.state)
        value = {aim: aim_value(site, item.plan.state, mine, aim, plan.state) for aim in Aim}
        entries.append(
            AlternativeEntry(
                number=index,
                sort=str(item.sort),
                otherwise=tuple(otherwise(site, plan, item.plan)),
                sound_more_db=value[Aim.SOUND] - base[Aim.SOUND],
                power_more_w=round(value[Aim.POWER] - base[Aim.POWER], 1) + 0.0,
                cost_more=round(value[Aim.COST] - base[Aim.COST], 2) + 0.0,
                things_changed=round(value[Aim.CHANGE]),
                proven=item.plan.sure,
            )
        )
    margins = found.margins
    none_left = tuple(str(sort) for sort in found.none_left)
    return AlternativesPage(
        site.currency,
        margins.sound_db,
        margins.power,
        margins.cost,
        tuple(entries),
        none_left,
        found.stopped_by,
    )


def otherwise(site: Site, plan: Plan, other: Plan) -> Iterator[str]:
    """Say what a plan decides otherwise than another, sort by sort."""
    for sort in Sort:
        before, after = decisions(site, plan.state, sort), decisions(site, other.state, sort)
        if sort is Sort.BOUGHT:
            before = {what: count for what, count in before.items() if what.name not in site.cooling_option}
            yield from _bought(before, after)
            continue
        new = [what.name for what in before if after[what] > before[what]]
        gone = [what.name for what in before if after[what] < before[what]]
        for names, words in ((new, YES[sort]), (gone, NO[sort])):
            if names:
                yield f"{words} {listed(names)}"
    taken = [item.name for item in site.measures if item.name in other.state.measures - plan.state.measures]
    left = [item.name for item in site.measures if item.name in plan.state.measures - other.state.measures]
    if taken:
        yield f"takes {listed(taken)}"
    if left:
        yield f"leaves out {listed(left)}"


YES = {Sort.BOXES: "keeps on", Sort.PHYSICAL: "keeps physical", Sort.COOLING: "cools with"}
NO = {Sort.BOXES: "switches off", Sort.PHYSICAL: "makes guests of", Sort.COOLING: "does without"}


def _bought(before: Decisions, after: Decisions) -> Iterator[str]:
    for what, count in before.items():
        if after[what] == count:
            continue
        if what.reused:
            yield f"{'re-uses' if after[what] else 'does not re-use'} {what.name} as host"
        else:
            yield f"buys {after[what] or 'no'} {what.name} instead of {count or 'none'}"


def alternatives_lines(page: AlternativesPage | None) -> list[Line]:
    """Set the page under a plan; nothing where no alternatives were asked for."""
    if page is None:
        return []
    lines = heading("Alternatives within the margins")
    lines += paragraph(_margin_words(page))
    for entry in page.entries:
        words = "; ".join(entry.otherwise)
        lines += paragraph(f"{entry.number}. {words}", hang="   ")
        lines += paragraph(_figures(page, entry), indent="     ", style="dim")
    lines += paragraph(_rest(page))
    return lines


def alternatives_plain(page: AlternativesPage | None) -> list[Line]:
    """Set the page with one fact a line."""
    if page is None:
        return []
    facts = [f"alternatives: {_margin_words(page)}"]
    for entry in page.entries:
        facts += [f"alternative {entry.number}: {words}" for words in entry.otherwise]
        facts.append(f"alternative {entry.number}: {_figures(page, entry)}")
    return [line(clean(text)) for text in (*facts, f"alternatives: {_rest(page)}")]


def _margin_words(page: AlternativesPage) -> str:
    """Write what an alternative may be worse by."""
    shares = f"{number(100 * page.power_margin)} % more power, {number(100 * page.cost_margin)} % more money"
    louder = f"at most {short(page.sound_margin_db)} dB louder" if page.sound_margin_db else "no louder"
    return f"{louder}; at most {shares} and work"


def _figures(page: AlternativesPage, entry: AlternativeEntry) -> str:
    sound = f"{signed(entry.sound_more_db, 1)} dB, " if entry.sound_more_db else ""
    figures = f"{sound}{signed(entry.power_more_w, 1)} W, {signed(entry.cost_more)} {page.currency}"
    proof = (
        f"the best that differs in {entry.sort}" if entry.proven else "not proven to be the best such plan"
    )
    return f"{figures}, {plural(entry.things_changed, 'thing')} otherwise; {proof}"


def _rest(page: AlternativesPage) -> str:
    if page.stopped_by:
        return f"There may be others: the search was stopped by {stopper(page.stopped_by)}."
    if page.none_left:
        return f"Within the margins nothing else differs in {listed(page.none_left)} (proven)."
    return "There may be others: no more were asked for."
