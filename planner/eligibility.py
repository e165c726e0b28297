"""May this service go on that machine, and if not, which rule or limit says so, in the person's words.

Only what holds for a machine by itself is asked here: what forbids a service, or the services that must
share a machine with it, on an otherwise empty one. What forbids it is certain, so a model may leave the
pair out; what does not forbid it may still fail together with others.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from planner import capacity
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
        """Give what the machine has; KeyError when the site does not know it."""
        return site.box[self.ref].spec if self.sort == "box" else site.kind[self.ref].spec


@dataclass(frozen=True)
class Obstacle:
    """What forbids: the rule or resource, a sentence, and for limits what is needed and what is there."""

    rule: str
    message: str
    needed: float | None = None
    there: float | None = None

    @property
    def shortfall(self) -> float:
        """What is missing, in the resource's unit; 0 for a rule without numbers."""
        return 0.0 if self.needed is None or self.there is None else self.needed - self.there


def candidates(site: Site) -> tuple[Candidate, ...]:
    """Give every machine there may be: boxes as they are, boxes re-used as hosts, kinds; in site order."""
    found: list[Candidate] = []
    for box in site.boxes:
        today = role_today(site, box.name)
        found.append(Candidate(box.name, "box", today))
        if box.may_host and today is not Role.HOST:
            found.append(Candidate(box.name, "box", Role.HOST))
    found.extend(Candidate(kind.name, "kind", kind.role) for kind in site.kinds)
    return tuple(found)


def groups(site: Site) -> tuple[tuple[str, ...], ...]:
    """Give the services merged by the rules that hold them together, in the site's order."""
    return tuple(dict.fromkeys(site.group[service.name] for service in site.services))


def group_of(site: Site, service: str) -> tuple[str, ...]:
    """Give the services that must share a machine with a service, itself included; KeyError if unknown."""
    return site.group[service]


def may_carry(site: Site, service: str, candidate: Candidate) -> Obstacle | None:
    """Give what forbids a service on a machine, alone or else with those that go with it; None if nothing."""
    return obstacle(site, (service,), candidate) or obstacle(site, group_of(site, service), candidate)


def obstacle(site: Site, group: tuple[str, ...], candidate: Candidate) -> Obstacle | None:
    """Give the first rule, or else the worst shortage, that forbids services on an empty machine."""
    case = _Case(site, tuple(site.service[name] for name in group), candidate)
    for rule in (*_SERVICES, *_MACHINE):
        found = rule(case)
        if found is not None:
            return found
    return next(iter(shortages(site, group, candidate)), None)


def shortages(site: Site, group: tuple[str, ...], candidate: Candidate) -> tuple[Obstacle, ...]:
    """Give every resource the services exceed on an empty machine, the worst in proportion first."""
    found: list[Obstacle] = []
    spec, services = candidate.spec(site), [site.service[name] for name in group]
    for name, resource in RESOURCES.items():
        needed = capacity.most_needed(site, candidate.role, services, name)
        there = capacity.usable(site, spec, candidate.role, name)
        if exceeds(needed, there):
            sentence = (
                f"{resource.label} of {candidate.ref}: {' and '.join(group)} would need {figure(needed)} "
                f"{resource.unit}, {figure(there)} {resource.unit} are there{_kept(site, candidate, name)}"
            )
            found.append(Obstacle(name, sentence, needed, there))
    return tuple(sorted(found, key=_excess, reverse=True))


def nearest(site: Site, service: str) -> Obstacle | None:
    """Give, for a service that fits nowhere, the machine that comes nearest and what it lacks; else None."""
    tried = [(candidate, may_carry(site, service, candidate)) for candidate in candidates(site)]
    found = [(candidate, item) for candidate, item in tried if item is not None]
    if len(found) < len(tried):
        return None
    short = [pair for pair in found if pair[1].rule in RESOURCES]
    if not short:
        reasons = "; ".join(dict.fromkeys(item.message for _, item in found)) or "there is no machine at all"
        return Obstacle(found[0][1].rule if found else "machine", f"{service} fits nowhere: {reasons}")
    candidate, lack = min(short, key=lambda pair: _excess(pair[1]))
    resource = RESOURCES[lack.rule]
    together = [name for name in group_of(site, service) if name != service]
    who = f"{service} with {' and '.join(together)}" if together else service
    sentence = (
        f"{who} needs {figure(lack.needed or 0.0)} {resource.unit} of {resource.label}; the nearest, "
        f"{candidate.ref}, has {figure(lack.there or 0.0)} {resource.unit}{_kept(site, candidate, lack.rule)}"
    )
    return Obstacle(lack.rule, sentence, lack.needed, lack.there)


def figure(value: float) -> str:
    """Write a number with at most two decimals and no trailing zeros."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _kept(site: Site, candidate: Candidate, resource: str) -> str:
    """Say what a machine keeps back of a resource, '' when nothing."""
    share = capacity.kept_free(site, candidate.role, resource)
    parts = [f"headroom of {figure(100.0 * share)} %"] if share else []
    own = capacity.own(site, candidate.role, resource)
    if own:
        parts.append(f"its own {figure(own)} {RESOURCES[resource].unit}")
    return f" after {' and '.join(parts)}" if parts else ""


def _excess(item: Obstacle) -> float:
    needed, there = item.needed or 0.0, item.there or 0.0
    return needed / there if there > 0.0 else float("inf")


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


def _residents(case: _Case) -> Obstacle | None:
    strangers = [service.name for service in case.services if service.box != case.ref]
    if case.candidate.role is not Role.BARE or not strangers:
        return None
    sentence = f"{case.ref}, left as it is, takes no other service: {strangers[0]} runs elsewhere today"
    return Obstacle("residents", sentence)


def _alone(case: _Case) -> Obstacle | None:
    single = case.candidate.role in (Role.APPLIANCE, Role.TOWER)
    if not single or case.names <= set(group_of(case.site, case.services[0].name)):
        return None
    return Obstacle("alone", f"{case.ref} carries one service, not {' and '.join(sorted(case.names))}")


def _physical(case: _Case) -> Obstacle | None:
    for service in case.services:
        if case.candidate.role is Role.HOST and service.physical is not None:
            sentence = f"{service.name} must not be a guest on {case.ref}: {service.physical}"
            return Obstacle("physical", sentence)
    return None


def _stay_on(case: _Case) -> Obstacle | None:
    here = case.ref if case.candidate.sort == "box" else None
    for service in case.services:
        if service.stay_on is not None and service.stay_on != here:
            return Obstacle("stay_on", f"{service.name} stays on {service.stay_on}, not on {case.ref}")
    return None


def _needs(case: _Case) -> Obstacle | None:
    offers = case.candidate.spec(case.site).offers
    for service in case.services:
        missing = ", ".join(sorted(service.needs - offers))
        if missing:
            return Obstacle("needs", f"{service.name} needs {missing}, which {case.ref} does not offer")
    return None


def _zones(case: _Case) -> Obstacle | None:
    zones, most = sorted({service.zone for service in case.services}), case.candidate.spec(case.site).zones
    if len(zones) <= most:
        return None
    sentence = f"{' and '.join(zones)} are {len(zones)} zones; {case.ref} carries {most}"
    return Obstacle("zones", sentence, float(len(zones)), float(most))


def _apart(case: _Case) -> Obstacle | None:
    for rule in case.site.apart if len(case.names) > 1 else ():
        both = sorted(rule.services & case.names)
        if len(both) > 1:
            sentence = f"{' and '.join(both)} must not share {case.ref}: {rule.because}"
            return Obstacle("apart", sentence)
    return None


def _quorum(case: _Case) -> Obstacle | None:
    for rule in case.site.quorums:
        guests, left = sorted(rule.services & case.names), len(rule.services - case.names)
        if case.candidate.role is Role.HOST and guests and left < rule.physical:
            who = f"{' and '.join(guests)} as guests on {case.ref}"
            sentence = f"{who} would leave {left} of {rule.physical} that must be physical: {rule.because}"
            return Obstacle("quorum", sentence, float(rule.physical), float(left))
    return None


def _units(case: _Case) -> Obstacle | None:
    if case.candidate.sort == "box" or case.site.kind[case.ref].max_units > 0:
        return None
    return Obstacle("units", f"no unit of {case.ref} may be bought", 1.0, 0.0)


def _budget(case: _Case) -> Obstacle | None:
    price, budget = _price(case.site, case.candidate), case.site.policy.budget
    if budget is None or not exceeds(price, budget):
        return None
    sentence = f"{case.ref} costs {figure(price)} {case.site.currency}, the budget is {figure(budget)}"
    return Obstacle("budget", sentence, price, budget)


def _price(site: Site, candidate: Candidate) -> float:
    if candidate.sort == "kind":
        return site.kind[candidate.ref].price
    stays = candidate.role is role_today(site, candidate.ref)
    return 0.0 if stays else site.box[candidate.ref].reuse_price


def _rack(case: _Case) -> Obstacle | None:
    needed, there = case.candidate.spec(case.site).rack_u, case.site.room.rack_u
    if there is None or needed <= there:
        return None
    sentence = f"{case.ref} takes {needed} rack units, the room has {there}"
    return Obstacle("rack", sentence, float(needed), float(there))


_Rule = Callable[[_Case], Obstacle | None]
_SERVICES: tuple[_Rule, ...] = (_residents, _alone, _physical, _stay_on, _needs, _zones, _apart, _quorum)
_MACHINE: tuple[_Rule, ...] = (_units, _budget, _rack)
