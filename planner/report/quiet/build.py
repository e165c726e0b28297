"""Builds the quieting page from a ladder and the sets beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from planner.domain.hazards import TEXTS, hazard_of
from planner.domain.resources import RESOURCES
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import Ledger
from planner.ledger.certainty import held_levels_dba
from planner.ledger.stay import levels_in_room, louder
from planner.quieting import CheapestSet, Ladder, Quieting, Rung
from planner.report.common import assumed
from planner.report.common.cautions import cautions_for
from planner.report.common.entries import AssumedEntry, CautionEntry
from planner.report.common.figures import finite
from planner.report.plan.build import NOTE
from planner.report.quiet.page import (
    QuietPage,
    RungEntry,
    RungLevel,
    SetEntry,
    SetLevel,
)
from planner.tolerances import LEVEL_DB

PLACEMENT_FIGURES = frozenset({"cores", *(resource.key for resource in RESOURCES.values())})


def quiet_page(found: Quieting, start: str) -> QuietPage:
    """Build the page; ``start`` says in words whose machines are quieted."""
    site, ladder = found.site, found.ladder
    start_book, end_book = ladder.start_book, ladder.end_book
    inside_dba = louder(
        levels_in_room(site, ladder.start, start_book), levels_in_room(site, ladder.end, end_book)
    )
    cautions = cautions_for(site, ladder.end, start_book.levels_dba, end_book.levels_dba, inside_dba)
    budget = site.policy.budget
    more = found.ladder_costs_more
    return QuietPage(
        site=site.name,
        currency=site.currency,
        start=start,
        budget_left=None if budget is None else round(budget, 2),
        levels_at_start=_levels(site, ladder.start_book),
        rungs=tuple(_rung(site, number, rung, cautions) for number, rung in enumerate(ladder.rungs, 1)),
        stopped_by=ladder.stopped_by,
        ladder=_ladder_set(site, ladder),
        best=None if found.best is None else _set(site, found.best),
        equal=None if found.equal is None else _set(site, found.equal),
        ladder_costs_more=None if more is None else round(more, 2) + 0.0,
        cautions=cautions,
        assumed=tuple(_that_matter(assumed.assumed_entries(site, _names(site, found)))),
        note=NOTE,
    )


def _that_matter(entries: Iterable[AssumedEntry]) -> Iterator[AssumedEntry]:
    """Leave out what only says where services may run."""
    for entry in entries:
        figures = tuple(name for name in entry.figures if name not in PLACEMENT_FIGURES)
        if figures:
            yield AssumedEntry(entry.of, figures)


def _names(site: Site, found: Quieting) -> frozenset[str]:
    states = [found.ladder.start, found.ladder.end]
    states += [item.state for item in (found.best, found.equal) if item is not None]
    return frozenset[str]().union(*(assumed.names_in(site, state) for state in states))


def _rung(site: Site, number: int, rung: Rung, cautions: Sequence[CautionEntry]) -> RungEntry:
    step = rung.step
    names = {*step.measures, *step.starts, *step.stops}
    applying = [entry.text for entry in cautions if names & set(entry.because)]
    return RungEntry(
        number=number,
        on=step.on,
        measures=step.measures,
        cooling_started=step.starts,
        cooling_stopped=step.stops,
        stopped_in=step.seasons,
        listener=rung.listener,
        leading=rung.leading,
        next_leading=rung.next_leading,
        levels=tuple(_rung_level(site, rung, item.name) for item in site.listeners),
        price=round(rung.price, 2),
        hours=round(rung.hours, 2),
        cost=round(rung.cost, 2),
        warmest_c=round(rung.warmest_c, 1),
        effect_assumed=any(site.measure[name].assumed for name in step.measures)
        or any(site.cooling_option[name].assumed for name in step.starts),
        cautions=tuple(dict.fromkeys([*map(_caution, rung.cautions), *applying])),
    )


def _caution(words: str) -> str:
    hazard = hazard_of(words)
    return words if hazard is None else TEXTS[hazard]


def _rung_level(site: Site, rung: Rung, name: str) -> RungLevel:
    return RungLevel(
        listener=name,
        before_dba=finite(rung.before.levels_dba[name], 1),
        after_dba=finite(rung.after.levels_dba[name], 1),
        drop_db=finite(rung.before.levels_dba[name] - rung.after.levels_dba[name], 1),
        before_assumed=assumed.level_assumed(site, rung.before, name),
        after_assumed=assumed.level_assumed(site, rung.after, name),
    )


def _levels(site: Site, book: Ledger) -> tuple[SetLevel, ...]:
    return tuple(
        SetLevel(
            listener=item.name,
            target_dba=item.target_dba,
            level_dba=finite(book.levels_dba[item.name], 1),
            met=None if item.target_dba is None else book.levels_dba[item.name] <= item.target_dba + LEVEL_DB,
            assumed=assumed.level_assumed(site, book, item.name),
        )
        for item in site.listeners
    )


def _ladder_set(site: Site, ladder: Ladder) -> SetEntry:
    figures = {"price": ladder.price, "hours": ladder.hours, "cost": ladder.cost}
    return _entry(
        site, ladder.end, ladder.end_book, figures, _over(site, ladder.end, ladder.end_book), proven=False
    )


def _set(site: Site, found: CheapestSet) -> SetEntry:
    figures = {"price": found.price, "hours": found.hours, "cost": found.cost}
    return _entry(
        site, found.state, found.book, figures, _over(site, found.state, found.book), proven=found.proven
    )


def _over(site: Site, state: State, book: Ledger) -> float:
    """Compute what stays over the targets, dB; with a confidence, of the level that is kept so surely."""
    held = held_levels_dba(site, state, book)
    targets = {item.name: item.target_dba for item in site.listeners if item.target_dba is not None}
    return max([0.0, *(held[name] - target for name, target in targets.items())])


def _entry(
    site: Site, state: State, book: Ledger, figures: Mapping[str, float], over_db: float, *, proven: bool
) -> SetEntry:
    return SetEntry(
        measures=tuple(item.name for item in site.measures if item.name in state.measures),
        cooling=tuple(
            (season.name, tuple(sorted(state.cooling.get(season.name, frozenset()))))
            for season in site.seasons
        ),
        price=round(figures["price"], 2),
        hours=round(figures["hours"], 2),
        cost=round(figures["cost"], 2),
        over_db=round(over_db, 1),
        levels=_levels(site, book),
        warmest_c=round(max(entry.temperature_c for entry in book.seasons), 1),
        proven=proven,
    )
