"""Ladder and cheapest set side by side, for the placement of a state."""

from __future__ import annotations

import threading
from dataclasses import dataclass

from planner.domain.plan import cost
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger.certainty import held_levels_dba
from planner.placement.result import Options, Solve
from planner.quieting.cheapest import CheapestSet, as_quiet_as, cheapest_set, set_of
from planner.quieting.ladder import Ladder, climb
from planner.quieting.settled import settled


@dataclass(frozen=True)
class Quieting:
    """A ladder and the sets it is measured against, on the settled site that they share.

    ``best`` meets the targets, or comes nearest, at the least cost. ``equal`` is the cheapest set that is
    as quiet as where the ladder ends; it is ``best`` where the ladder meets the targets.
    """

    site: Site
    ladder: Ladder
    best: CheapestSet | None
    equal: CheapestSet | None

    @property
    def ladder_costs_more(self) -> float | None:
        """What the ladder costs more than the cheapest set that is as quiet; None where none was found."""
        return None if self.equal is None else self.ladder.cost - self.equal.cost


def quieting(
    site: Site,
    state: State,
    options: Options | None = None,
    *,
    solve: Solve,
    cancel: threading.Event | None = None,
) -> Quieting:
    """Climb the ladder from a state's machines with today's cooling, and prove the cheapest set by ``solve``.

    Raises CannotQuietError when the room of that state never settles.
    """
    options = options or Options()
    base = settled(site, state)
    ladder = climb(base)
    best = cheapest_set(base, options, solve=solve, cancel=cancel)
    if ladder.met:
        best = no_dearer(base, ladder, best)
        return Quieting(base, ladder, best, best)
    eased = as_quiet_as(base, held_levels_dba(base, ladder.end, ladder.end_book))
    found = cheapest_set(eased, options, solve=solve, start=ladder.end, cancel=cancel)
    equal = no_dearer(eased, ladder, found)
    return Quieting(base, ladder, best, equal)


def no_dearer(site: Site, ladder: Ladder, found: CheapestSet | None) -> CheapestSet | None:
    """Make the ladder's own end as the set where the time or a confidence left only a dearer one."""
    if found is None or found.proven or found.cost <= cost(site, ladder.end):
        return found
    return set_of(site, ladder.end, proven=False)
