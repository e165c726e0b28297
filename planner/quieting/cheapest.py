"""The cheapest set of measures and cooling that meets the targets, proven by the planning model."""

from __future__ import annotations

import math
import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace

from planner.domain.plan import aim_value, cost, purchases
from planner.domain.rules import Aim, Policy
from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State
from planner.ledger import Ledger, ledger
from planner.placement.result import Options, Solve

EASED_DB = 1e-3
"""So much is given to a set that must be as quiet as a ladder, for rounding."""


@dataclass(frozen=True)
class CheapestSet:
    """What to take and run, what it costs, and whether nothing cheaper is as quiet.

    ``over_db`` is what stays over the targets, ``proven`` that no set costs less (nor, where something
    stays over, is quieter).
    """

    state: State
    book: Ledger
    price: float
    hours: float
    cost: float
    over_db: float
    proven: bool


def cheapest_set(
    site: Site,
    options: Options,
    *,
    solve: Solve,
    start: State | None = None,
    cancel: threading.Event | None = None,
) -> CheapestSet | None:
    """Find the cheapest set on a settled site by ``solve``; None where the time was up before."""
    wanted = replace(options, aims=(Aim.SOUND, Aim.COST), start=start, fixed=None)
    result = solve(site, wanted, cancel=cancel)
    if result.plan is None:
        return None
    return set_of(site, result.plan.state, proven=result.plan.sure)


def set_of(site: Site, state: State, *, proven: bool) -> CheapestSet:
    """Make a state's measures and cooling as a set."""
    book, lines = ledger(site, state), purchases(site, state)
    return CheapestSet(
        state=state,
        book=book,
        price=math.fsum(line.price for line in lines),
        hours=math.fsum(line.hours for line in lines),
        cost=cost(site, state),
        over_db=aim_value(site, state, book, Aim.SOUND),
        proven=proven,
    )


def as_quiet_as(site: Site, levels_dba: Mapping[str, float]) -> Site:
    """Make the site whose targets are no stricter than some levels: what the ladder reached is enough.

    Where no listener has a target, the loudest level becomes everybody's.
    """
    targeted = any(item.target_dba is not None for item in site.listeners)
    loudest = max(levels_dba.values()) + EASED_DB

    def eased(item: Listener) -> Listener:
        if not targeted:
            return replace(item, target_dba=loudest)
        if item.target_dba is None:
            return item
        return replace(item, target_dba=max(item.target_dba, levels_dba[item.name] + EASED_DB))

    return replace(site, listeners=tuple(map(eased, site.listeners)), policy=_sound_first(site.policy))


def _sound_first(policy: Policy) -> Policy:
    return replace(policy, aims=(Aim.SOUND, Aim.COST))
