"""Random sites tightened until no plan can exist, and sites loosened by what a conflict says."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from planner import capacity
from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.machines import Role, Spec
from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.placement.result import Options, Result
from planner.placement.solve import solve
from tests.kit.sites import random_site
from tests.placement.failover.spare_sites import spare_site

OPTIONS = Options(time_s=20.0)


@dataclass(frozen=True)
class Case:
    """A site without a plan, and what was found."""

    site: Site
    result: Result


def cases(seeds: range) -> Iterator[Case]:
    """Make the cases among the tightened sites of some seeds: those that have no plan."""
    for seed in seeds:
        for make, tighten in TIGHTENED:
            site = tighten(make(seed))
            result = solve(site, OPTIONS)
            if result.outcome is Outcome.INFEASIBLE:
                yield Case(site, result)


def _weak(site: Site) -> Site:
    """Let circuits carry a third of what they do."""
    circuits = tuple(replace(item, continuous_w=0.35 * item.continuous_w) for item in site.supply.circuits)
    return replace(site, supply=replace(site.supply, circuits=circuits))


def _poor(site: Site) -> Site:
    """Leave no money, and boxes a third of their memory."""
    boxes = tuple(
        replace(box, spec=replace(box.spec, memory_gib=box.spec.memory_gib / 3.0)) for box in site.boxes
    )
    return replace(site, boxes=boxes, policy=replace(site.policy, budget=1.0))


def _few(site: Site) -> Site:
    """Leave one unit of each kind, and no box that may be a host."""
    boxes = tuple(replace(box, may_host=False, hosts_today=False) for box in site.boxes)
    return replace(site, boxes=boxes, kinds=tuple(replace(kind, max_units=1) for kind in site.kinds))


Make = Callable[[int], Site]
TIGHTENED: tuple[tuple[Make, Callable[[Site], Site]], ...] = (
    (random_site, _weak),
    (random_site, _poor),
    (spare_site, _few),
)


def loosened(site: Site, conflict: Conflict) -> Site | None:
    """Copy a site with what a conflict names loosened by its amount; None where that is no sum."""
    much, place = conflict.amount * (1.0 + 1e-3) + 1e-3, conflict.place
    if conflict.rule is Rule.BUDGET:
        return replace(site, policy=replace(site.policy, budget=(site.policy.budget or 0.0) + much))
    if conflict.rule is Rule.RACK:
        height = (site.room.rack_u or 0) + math.ceil(conflict.amount)
        return replace(site, room=replace(site.room, rack_u=height))
    if conflict.rule is Rule.CIRCUIT and place is not None:
        circuits = tuple(
            replace(item, continuous_w=item.continuous_w + much) if item.name == place.name else item
            for item in site.supply.circuits
        )
        return replace(site, supply=replace(site.supply, circuits=circuits))
    if conflict.rule is Rule.HEAT and place is not None:
        return _cooler(site, place.name, much)
    if conflict.rule is Rule.APART and conflict.shown is Shown.REPAIR:
        apart = tuple(rule for rule in site.apart if not {*conflict.subject} <= rule.services)
        return replace(site, apart=apart)
    if conflict.rule is Rule.ALONE and place is not None:
        more = math.ceil(conflict.amount)
        kinds = (replace(k, max_units=k.max_units + more * (k.name == place.entry)) for k in site.kinds)
        return replace(site, kinds=tuple(kinds))
    return _roomier(site, conflict, much) if conflict.rule is Rule.CAPACITY else None


def _cooler(site: Site, season_name: str, much_w: float) -> Site | None:
    """Let more heat through the walls; None where it is too warm behind them."""
    season = next(item for item in site.seasons if item.name == season_name)
    kelvin = site.policy.inlet_limit_c - season.surroundings_c
    if kelvin <= 0.0:
        return None
    return replace(site, room=replace(site.room, ua_w_k=site.room.ua_w_k + much_w / kelvin))


def _roomier(site: Site, conflict: Conflict, much: float) -> Site:
    """Make the machine, or where all lack it the first box, more of a resource than what is lacking."""
    ref = site.boxes[0].name if conflict.place is None else conflict.place.entry
    free = 1.0 - capacity.kept_free(site, conflict.role or Role.HOST, conflict.resource)

    def more(spec: Spec) -> Spec:
        changed: Any = {conflict.resource: getattr(spec, conflict.resource, 0.0) + much / free}
        if conflict.resource == "vcpu":
            changed = {"cores": spec.cores + much / site.policy.vcpu_per_core}
        return replace(spec, **changed)

    boxes = tuple(replace(b, spec=more(b.spec)) if b.name == ref else b for b in site.boxes)
    kinds = tuple(replace(k, spec=more(k.spec)) if k.name == ref else k for k in site.kinds)
    return replace(site, boxes=boxes, kinds=kinds)
