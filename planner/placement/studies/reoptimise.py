"""Planning again after an edit: from the last plan, differing from it only where it must.

Where the edit only takes away, and the last plan still holds and is as good as it was, its old proof is
proof enough. Else the aims are pursued from it, and changes are counted from it. (Asking for the bounds of
all aims at once, in threads, was tried: the edits that keep the plan gained nothing, the others lost.)

Why so: no first plan is constructed then on small sites, for the last one is there.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace

from planner.domain.plan import AimResult, Outcome, Plan, aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.ledger import ledger
from planner.placement.failover.restart import planned_restarts
from planner.placement.result import Options, Progress, Result
from planner.placement.solve import solve
from planner.placement.studies.known_state import still_known
from planner.placement.studies.restriction import narrower
from planner.tolerances import exceeds
from planner.verify import verify_plan, verify_state


def solve_again(
    before: Site,
    last: Plan,
    site: Site,
    options: Options | None = None,
    *,
    cancel: threading.Event | None = None,
    watch: Callable[[Progress], None] | None = None,
) -> Result:
    """Plan an edited site from the last plan of the site before the edit.

    The last plan is both the start and what changes are counted from, whatever ``options`` say of those.
    Raises RejectedPlanError as `solve` does.
    """
    options, began, known = options or Options(), time.monotonic(), still_known(site, last.state)
    kept = still_best(before, last, site, options)
    if kept is not None:
        return Result(Outcome.PROVEN, kept, (), time.monotonic() - began)
    return solve(site, replace(options, start=known, previous=known), cancel=cancel, watch=watch)


def still_best(before: Site, last: Plan, site: Site, options: Options) -> Plan | None:
    """Build the last plan as that of the edited site where its proof still holds, else None.

    What the edit leaves possible was possible before, so no plan is better than the last one was; and
    nothing differs less from it than itself.
    """
    order = options.aims or site.policy.aims
    known = last.proven and tuple(result.aim for result in last.aims) == order
    if not known or options.fixed is not None or not narrower(before, site) or verify_state(site, last.state):
        return None
    book = ledger(site, last.state)
    aims = []
    for result in last.aims:
        value = aim_value(site, last.state, book, result.aim, last.state)
        if result.aim is not Aim.CHANGE and exceeds(value, result.value):
            return None
        aims.append(AimResult(result.aim, value, value, True, result.confirmed_by))
    plan = Plan(last.state, tuple(aims), Outcome.PROVEN, previous=last.state)
    plan = replace(plan, restarts=planned_restarts(site, last.state))
    return None if verify_plan(site, plan) else plan
