"""What else could be done with one service: for each machine there may be, the best plan that puts it there.

A place is forced by a need of the service's that nothing but this machine offers, so that everything else
holds as ever: the model, the limits, the words for a conflict, the judge. Where hosts may be lost, that need
would confine the restart as well. So the service is first let off its restart: that asks for less, so that a
plan which the judge passes all the same is the best, and where there is none, there is none that restarts it.
Else the restart is confined: what is found is a plan, but there may be a better one (``exact`` is False).

Why so: with a need instead of a fixed variable, the model, the judge and the conflict in words are those of
every plan.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from planner.domain.conflict import Conflict
from planner.domain.plan import Outcome, Plan
from planner.domain.site import Site
from planner.domain.state import State
from planner.eligibility import Candidate, candidates, may_carry
from planner.placement.params import PARAMS
from planner.placement.result import Options, Result, Solve, refuse_rejected
from planner.verify import verify_plan


@dataclass(frozen=True)
class Forced:
    """What comes of a service on a machine (a box, or a unit of a kind).

    ``forbidden``: what rules it out by itself. ``planned``: the plan has it there. Else ``plan`` is the best
    with it there, its changes counted from the plan; or ``outcome`` and ``conflicts`` say why there is none,
    and ``confirmed_by`` what shows that beside one run of a solver. ``exact``: False where only its restart
    on the same machine was searched.
    """

    machine: str
    sort: str
    forbidden: tuple[Conflict, ...] = ()
    planned: bool = False
    plan: Plan | None = None
    outcome: Outcome | None = None
    conflicts: tuple[Conflict, ...] = ()
    exact: bool = True
    confirmed_by: str = ""


def forced(
    site: Site,
    plan: Plan,
    service: str,
    options: Options | None = None,
    *,
    solve: Solve,
    cancel: threading.Event | None = None,
    watch: Callable[[str, float], None] | None = None,
) -> Iterator[Forced]:
    """Find what comes of a service on each machine there may be, one after the other; each plan is judged.

    ``solve`` plans a site; ``watch`` hears of each machine that is asked for, with the seconds since the
    start. ``options`` hold for each. Raises KeyError for a service that there is not, RejectedPlanError as
    ``solve`` does.
    """
    here, options, began = place_of(site, plan.state, service), options or Options(), time.monotonic()
    for (machine, sort), roles in _by_machine(site).items():
        obstacles = [may_carry(site, service, candidate) for candidate in roles]
        if all(item is not None for item in obstacles):
            yield Forced(machine, sort, tuple(item for item in obstacles if item is not None))
        elif (machine, sort) == here:
            yield Forced(machine, sort, planned=True)
        else:
            if watch is not None:
                watch(machine, time.monotonic() - began)
            yield _forced(site, plan, service, roles[0], options, solve, cancel)


def place_of(site: Site, state: State, service: str) -> tuple[str, str]:
    """Look up the box or kind that carries a service, and which of the two it is; KeyError if unknown."""
    machine = state.where(site.service[service].name)[0]
    return (machine.box, "box") if machine.box is not None else (machine.kind or machine.name, "kind")


def _by_machine(site: Site) -> dict[tuple[str, str], list[Candidate]]:
    """List the roles in which each machine might carry something."""
    found: dict[tuple[str, str], list[Candidate]] = {}
    for candidate in candidates(site):
        found.setdefault((candidate.ref, candidate.sort), []).append(candidate)
    return found


def only_on(site: Site, service: str, candidate: Candidate) -> Site:
    """Copy the site with a service that has to be on a machine."""
    need = frozenset({f"to be on {candidate.ref}"})
    services = tuple(
        replace(item, needs=item.needs | need) if item.name == service else item for item in site.services
    )
    made = replace(site, services=services)
    spec = candidate.spec(site)
    spec = replace(spec, offers=spec.offers | need)
    if candidate.sort == "box":
        boxes = (replace(item, spec=spec) if item.name == candidate.ref else item for item in site.boxes)
        return replace(made, boxes=tuple(boxes))
    kinds = (replace(item, spec=spec) if item.name == candidate.ref else item for item in site.kinds)
    return replace(made, kinds=tuple(kinds))


def _forced(
    site: Site,
    plan: Plan,
    service: str,
    candidate: Candidate,
    options: Options,
    solve: Solve,
    cancel: threading.Event | None,
) -> Forced:
    asked = replace(options, start=plan.state, previous=plan.state)
    confined = only_on(site, service, candidate)
    if not site.policy.spare_hosts or not _restarts(site, service):
        return _judged(site, candidate, solve(confined, asked, cancel=cancel))
    began = time.monotonic()
    eased = solve(_let_off(confined, service), asked, cancel=cancel)
    is_less = not _is_bound(site, service)
    if is_less and eased.outcome is Outcome.INFEASIBLE:
        return _judged(site, candidate, eased)
    if eased.plan is not None:
        # Its restarts are those of a site that lets the service off; the judge looks for its own.
        eased = replace(eased, plan=replace(eased.plan, restarts=()))
    if eased.plan is not None and not verify_plan(site, eased.plan):
        return replace(_judged(site, candidate, eased), exact=is_less)
    left_s = max(PARAMS.studies.least_forced_s, began + options.time_s - time.monotonic())
    found = _judged(site, candidate, solve(confined, replace(asked, time_s=left_s), cancel=cancel))
    return replace(found, exact=False)


def _judged(site: Site, candidate: Candidate, result: Result) -> Forced:
    """Tell of a solve; RejectedPlanError where the judge refuses its plan."""
    if result.plan is not None:
        refuse_rejected(site, result.plan)
    return Forced(
        candidate.ref,
        candidate.sort,
        plan=result.plan,
        outcome=result.outcome,
        confirmed_by=result.confirmed_by,
        conflicts=result.conflicts,
    )


def _let_off(site: Site, service: str) -> Site:
    """Copy a site with a service that need not restart when its host is lost."""
    services = (replace(item, restart=item.restart and item.name != service) for item in site.services)
    return replace(site, services=tuple(services))


def _is_bound(site: Site, service: str) -> bool:
    """Whether others restart where a service does, so that letting it off may ask for more of them."""
    return any(service in rule.services for rule in site.together)


def _restarts(site: Site, service: str) -> bool:
    item = site.service[service]
    return item.restart and item.stay_on is None
