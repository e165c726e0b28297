"""May this service go on that machine, and if not, which rule or limit says so, as a conflict.

Only what holds for a machine by itself is asked here: what forbids a service, or the services that must
share a machine with it, on an otherwise empty one. What forbids it is certain, so a model may leave the
pair out; what does not forbid it may still fail together with others.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from planner import capacity
from planner.domain.conflict import Conflict, Place, Rule, Shown
from planner.domain.machines import Role, Spec
from planner.domain.resources import RESOURCES
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import role_today
from planner.tolerances import exceeds


@dataclass(frozen=True)
class Candidate:
    """A machine a service might run on: a box in a role it may have, or a kind that may be bought."""

    ref: str
    sort: Literal["box", "kind"]
    role: Role

    def spec(self, site: Site) -> Spec:
        """Look up what the machine has; KeyError when the site does not know it."""
        return site.box[self.ref].spec if self.sort == "box" else site.kind[self.ref].spec

    @property
    def place(self) -> Place:
        """The machine as the place of a conflict."""
        return Place(self.ref, self.ref)


def candidates(site: Site) -> tuple[Candidate, ...]:
    """List every machine there may be: boxes as they are, boxes re-used as hosts, kinds; in site order."""
    found: list[Candidate] = []
    for box in site.boxes:
        today = role_today(site, box.name)
        found.append(Candidate(box.name, "box", today))
        if box.may_host and today is not Role.HOST:
            found.append(Candidate(box.name, "box", Role.HOST))
    found.extend(Candidate(kind.name, "kind", kind.role) for kind in site.kinds)
    return tuple(found)


def groups(site: Site) -> tuple[tuple[str, ...], ...]:
    """List the services merged by the rules that hold them together, in the site's order."""
    return tuple(dict.fromkeys(site.group[service.name] for service in site.services))


def group_of(site: Site, service: str) -> tuple[str, ...]:
    """Look up the services that must share a machine with a service, itself included; KeyError if unknown."""
    return site.group[service]


def may_carry(site: Site, service: str, candidate: Candidate) -> Conflict | None:
    """Find what forbids a service on a machine, alone or else with those that go with it; None if nothing."""
    return obstacle(site, (service,), candidate) or obstacle(site, group_of(site, service), candidate)


def obstacle(site: Site, group: tuple[str, ...], candidate: Candidate) -> Conflict | None:
    """Find the first rule, or else the worst shortage, that forbids services on an empty machine."""
    case = _Case(site, tuple(site.service[name] for name in group), candidate)
    for rule in (*_SERVICES, *_MACHINE):
        found = rule(case)
        if found is not None:
            return found
    return next(iter(shortages(site, group, candidate)), None)


def shortages(site: Site, group: tuple[str, ...], candidate: Candidate) -> tuple[Conflict, ...]:
    """Find every resource the services exceed on an empty machine, the worst in proportion first."""
    found: list[Conflict] = []
    spec, services = candidate.spec(site), [site.service[name] for name in group]
    for name, resource in RESOURCES.items():
        needed = capacity.most_needed(site, candidate.role, services, name)
        there = capacity.usable(site, spec, candidate.role, name)
        if exceeds(needed, there):
            found.append(
                Conflict(
                    Rule.CAPACITY,
                    group,
                    candidate.place,
                    name,
                    amount=needed - there,
                    unit=resource.unit,
                    there=there,
                    role=candidate.role,
                )
            )
    return tuple(sorted(found, key=_excess, reverse=True))


def nearest(site: Site, service: str) -> tuple[Conflict, ...]:
    """Find, for a service that fits nowhere, what the nearest machine lacks, or else all that forbids it.

    Empty for a service that fits somewhere.
    """
    tried = [may_carry(site, service, candidate) for candidate in candidates(site)]
    found = [item for item in tried if item is not None]
    if len(found) < len(tried):
        return ()
    short = [item for item in found if item.rule is Rule.CAPACITY]
    if not short:
        found = found or [Conflict(Rule.MACHINE, (service,))]
        return tuple(dict.fromkeys(replace(item, fits_nowhere=service) for item in found))
    lack = min(short, key=_excess)
    mates = (name for name in lack.subject if name != service)
    return (replace(lack, subject=(service, *mates), shown=Shown.NOWHERE),)


def _excess(item: Conflict) -> float:
    return round(item.needed / item.there, 9) if item.there is not None and item.there > 0.0 else math.inf


@dataclass(frozen=True)
class _Case:
    """Services on a machine that may not take them."""

    site: Site
    services: tuple[Service, ...]
    candidate: Candidate

    @cached_property
    def names(self) -> frozenset[str]:
        return frozenset(service.name for service in self.services)

    @property
    def ref(self) -> str:
        return self.candidate.ref

    def broken(
        self, rule: Rule, subject: Iterable[str] = (), others: Iterable[str] = (), because: str = ""
    ) -> Conflict:
        """Make the conflict of a rule without figures."""
        place, role = self.candidate.place, self.candidate.role
        return Conflict(rule, tuple(subject), place, role=role, others=tuple(others), because=because)


def _over(needed: float, there: float, unit: str, broken: Conflict) -> Conflict:
    return replace(broken, amount=needed - there, there=there, unit=unit)


def _residents(case: _Case) -> Conflict | None:
    strangers = [service.name for service in case.services if service.box != case.ref]
    if case.candidate.role is not Role.BARE or not strangers:
        return None
    return case.broken(Rule.RESIDENTS, strangers[:1])


def _alone(case: _Case) -> Conflict | None:
    single = case.candidate.role in (Role.APPLIANCE, Role.TOWER)
    if not single or case.names <= set(group_of(case.site, case.services[0].name)):
        return None
    return case.broken(Rule.ALONE, sorted(case.names))


def _physical(case: _Case) -> Conflict | None:
    for service in case.services:
        if case.candidate.role is Role.HOST and service.physical is not None:
            return case.broken(Rule.PHYSICAL, (service.name,), because=service.physical)
    return None


def _stay_on(case: _Case) -> Conflict | None:
    here = case.ref if case.candidate.sort == "box" else None
    for service in case.services:
        if service.stay_on is not None and service.stay_on != here:
            return case.broken(Rule.STAY_ON, (service.name,), (service.stay_on,))
    return None


def _needs(case: _Case) -> Conflict | None:
    offers = case.candidate.spec(case.site).offers
    for service in case.services:
        if not service.needs <= offers:
            return case.broken(Rule.NEEDS, (service.name,), sorted(service.needs - offers))
    return None


def _zones(case: _Case) -> Conflict | None:
    zones, most = sorted({service.zone for service in case.services}), case.candidate.spec(case.site).zones
    if len(zones) <= most:
        return None
    several = case.broken(Rule.ZONES, (service.name for service in case.services), zones)
    return _over(len(zones), most, "zones", several)


def _apart(case: _Case) -> Conflict | None:
    for rule in case.site.apart if len(case.names) > 1 else ():
        both = sorted(rule.services & case.names)
        if len(both) > 1:
            return case.broken(Rule.APART, both, because=rule.because)
    return None


def _quorum(case: _Case) -> Conflict | None:
    for rule in case.site.quorums:
        guests, left = sorted(rule.services & case.names), len(rule.services - case.names)
        if case.candidate.role is Role.HOST and guests and left < rule.physical:
            few = case.broken(Rule.QUORUM, guests, sorted(rule.services), rule.because)
            return _over(rule.physical, left, "services", few)
    return None


def _units(case: _Case) -> Conflict | None:
    if case.candidate.sort == "box" or case.site.kind[case.ref].max_units > 0:
        return None
    return _over(1.0, 0.0, "units", case.broken(Rule.UNITS))


def _budget(case: _Case) -> Conflict | None:
    price, budget = _price(case.site, case.candidate), case.site.policy.budget
    if budget is None or not exceeds(price, budget):
        return None
    return _over(price, budget, case.site.currency, case.broken(Rule.BUDGET))


def _price(site: Site, candidate: Candidate) -> float:
    if candidate.sort == "kind":
        return site.kind[candidate.ref].price
    stays = candidate.role is role_today(site, candidate.ref)
    return 0.0 if stays else site.box[candidate.ref].reuse_price


def _rack(case: _Case) -> Conflict | None:
    needed, there = case.candidate.spec(case.site).rack_u, case.site.room.rack_u
    if there is None or needed <= there:
        return None
    return _over(needed, there, "rack units", case.broken(Rule.RACK))


_Rule = Callable[[_Case], Conflict | None]
_SERVICES: tuple[_Rule, ...] = (_residents, _alone, _physical, _stay_on, _needs, _zones, _apart, _quorum)
_MACHINE: tuple[_Rule, ...] = (_units, _budget, _rack)
