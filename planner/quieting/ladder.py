"""The loudest-first ladder: what a practitioner does, rung by rung, until it is quiet or not worth more."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from planner.domain.measures import ROOM
from planner.domain.plan import purchases
from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State, state_today
from planner.ledger import Ledger, ledger
from planner.ledger.certainty import held_levels_dba
from planner.quieting.steps import Step, instead_of, keeps_limits, measures_on
from planner.tolerances import LEVEL_DB, exceeds

LEAST_CHANGE_DB = 0.5
"""A rung that changes less is not worth its work: nobody hears it, and no room is foretold so finely."""

MET = "every target is met"
NO_CHANGE = "no step left would change half a decibel where it matters most"

Levels = Mapping[str, float]
"""dBA by listener; where a target carries a confidence, the level that is kept so surely."""


@dataclass(frozen=True)
class Rung:
    """One rung: the step, what led before and leads after it at ``listener``, ledgers, money, hours.

    ``listener`` is where the level is furthest over its target before the step.
    """

    step: Step
    listener: str
    leading: str
    next_leading: str
    before: Ledger
    after: Ledger
    price: float
    hours: float
    cost: float
    cautions: tuple[str, ...]

    @property
    def warmest_c(self) -> float:
        """The room's temperature after the step in the warmest season."""
        return max(entry.temperature_c for entry in self.after.seasons)


@dataclass(frozen=True)
class Ladder:
    """The rungs from a start to an end, and why it ends there; ``cost`` is money plus work at its rate."""

    start: State
    rungs: tuple[Rung, ...]
    end: State
    stopped_by: str
    start_book: Ledger
    end_book: Ledger

    @property
    def met(self) -> bool:
        """True when every target is met at the end."""
        return self.stopped_by == MET

    @property
    def price(self) -> float:
        """Money of all rungs."""
        return math.fsum(rung.price for rung in self.rungs)

    @property
    def hours(self) -> float:
        """Hours of work of all rungs."""
        return math.fsum(rung.hours for rung in self.rungs)

    @property
    def cost(self) -> float:
        """Money plus work of all rungs."""
        return math.fsum(rung.cost for rung in self.rungs)


def climb(site: Site) -> Ladder:
    """Climb the ladder of a settled site from its today."""
    start = state_today(site)
    first = book = ledger(site, start)
    state, rungs = start, list[Rung]()
    while not _met(site, held_levels_dba(site, state, book)):
        spent = math.fsum(rung.price for rung in rungs)
        rung = next_rung(site, state, book, start, spent)
        if rung is None:
            return Ladder(start, tuple(rungs), state, NO_CHANGE, first, book)
        rungs.append(rung)
        state = rung.step.state
        book = ledger(site, state)
    return Ladder(start, tuple(rungs), state, MET, first, book)


def next_rung(site: Site, state: State, book: Ledger, start: State, spent: float = 0.0) -> Rung | None:
    """Find the next rung: on the loudest source on which something is left to do, or on the room.

    Of those steps the one that takes away most for its money; None when none takes half a decibel away.
    """
    worst = worst_listener(site, held_levels_dba(site, state, book))
    room = list(measures_on(site, state, ROOM))
    for source in loudest_first(book, worst.name):
        steps = [*measures_on(site, state, source), *room]
        if source in site.cooling_option:
            steps += instead_of(site, state, source)
        weighed = sorted(_weighed(site, state, book, worst, steps), key=lambda pair: pair[0], reverse=True)
        for (_, _, number), rung in weighed:
            if within_budget(site, spent + rung.price) and keeps_limits(site, steps[-number].state, start):
                return rung
    return None


def within_budget(site: Site, spent: float) -> bool:
    """Say whether what all rungs cost is within the budget; what was bought in vain counts."""
    return site.policy.budget is None or not exceeds(spent, site.policy.budget)


def _weighed(
    site: Site, state: State, book: Ledger, worst: Listener, steps: list[Step]
) -> Iterator[tuple[tuple[float, float, int], Rung]]:
    """List the rungs worth taking, each with decibels for its money, decibels, and its place from behind."""
    for index, step in enumerate(steps):
        try:
            after = ledger(site, step.state)
        except ValueError:
            continue
        drop = book.levels_dba[worst.name] - after.levels_dba[worst.name]
        if drop >= LEAST_CHANGE_DB and not _louder_elsewhere(site, book.levels_dba, after.levels_dba):
            rung = make_rung(site, state, step, book, after)
            value = drop / rung.cost if rung.cost > 0.0 else math.inf
            yield (value, drop, len(steps) - index), rung


def make_rung(site: Site, state: State, step: Step, book: Ledger, after: Ledger) -> Rung:
    """Find the rung that a step from a state makes, with the ledgers before and after it."""
    worst = worst_listener(site, held_levels_dba(site, state, book)).name
    # What an earlier rung bought and this one makes useless stays paid.
    had = {(line.what, line.sort) for line in purchases(site, state)}
    new = [line for line in purchases(site, step.state) if (line.what, line.sort) not in had]
    price, hours = math.fsum(line.price for line in new), math.fsum(line.hours for line in new)
    return Rung(
        step=step,
        listener=worst,
        leading=book.leading[worst],
        next_leading=after.leading[worst],
        before=book,
        after=after,
        price=price,
        hours=hours,
        cost=price + hours * site.policy.labour_per_hour,
        cautions=_cautions(site, step),
    )


def _cautions(site: Site, step: Step) -> tuple[str, ...]:
    named = [site.measure[name].cautions for name in step.measures]
    named += [site.cooling_option[name].cautions for name in step.starts]
    return tuple(dict.fromkeys(name for names in named for name in names))


def counting(site: Site) -> tuple[Listener, ...]:
    """List the listeners that count: those with a target, or all where none has one."""
    return tuple(item for item in site.listeners if item.target_dba is not None) or site.listeners


def over_db(listener: Listener, levels_dba: Levels) -> float:
    """Compute how far the level at a listener is over its target (over 0 dBA where none has one)."""
    return levels_dba[listener.name] - (listener.target_dba or 0.0)


def worst_listener(site: Site, levels_dba: Levels) -> Listener:
    """Find the listener whose level is furthest over its target."""
    return max(counting(site), key=lambda item: over_db(item, levels_dba))


def loudest_first(book: Ledger, listener: str) -> list[str]:
    """List the sources by their level at a listener in its loudest season, the loudest first."""
    season = max(
        (entry for entry in book.seasons if entry.levels_dba[listener] == book.levels_dba[listener]),
        key=lambda entry: len(entry.sources),
    )
    ordered = sorted(season.sources, key=lambda source: source.levels_dba[listener], reverse=True)
    return [source.name for source in ordered]


def _met(site: Site, levels_dba: Levels) -> bool:
    targeted = [item for item in site.listeners if item.target_dba is not None]
    return bool(targeted) and all(over_db(item, levels_dba) <= LEVEL_DB for item in targeted)


def _louder_elsewhere(site: Site, before: Levels, after: Levels) -> bool:
    """Say whether a step makes it louder than its target, and than it was, where another listens."""
    return any(over_db(item, after) > max(0.0, over_db(item, before)) + LEVEL_DB for item in counting(site))
