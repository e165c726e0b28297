"""What can be said without a solver: services that fit nowhere, rules that contradict each other, sums."""

from __future__ import annotations

from collections.abc import Iterator

from planner import eligibility
from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.machines import Role
from planner.domain.resources import INSTALLED, RESOURCES
from planner.domain.site import Site
from planner.tolerances import exceeds


def preflight(site: Site) -> tuple[Conflict, ...]:
    """Check services one by one, quorums and sums; each conflict found rules out every plan by itself."""
    return tuple(dict.fromkeys([*_nowhere(site), *_quorums(site), *_totals(site)]))


def _nowhere(site: Site) -> Iterator[Conflict]:
    candidates = tuple(eligibility.candidates(site))
    shared = [candidate for candidate in candidates if candidate.role is not Role.BARE]
    bare = {candidate.ref: candidate for candidate in candidates if candidate.role is Role.BARE}
    for group in eligibility.groups(site):
        home = bare.get(site.service[group[0]].box)
        able = [*shared, *([home] if home else [])]
        if all(eligibility.obstacle(site, group, each) is not None for each in able):
            yield from eligibility.nearest(site, group[0])


def _quorums(site: Site) -> Iterator[Conflict]:
    bare = [candidate for candidate in eligibility.candidates(site) if candidate.role is not Role.HOST]
    for rule in site.quorums:
        names = tuple(sorted(rule.services))
        able = sum(
            any(eligibility.may_carry(site, name, candidate) is None for candidate in bare) for name in names
        )
        if able < rule.physical:
            yield Conflict(
                Rule.QUORUM,
                names,
                amount=rule.physical - able,
                unit="services",
                there=able,
                shown=Shown.IN_ALL,
                because=rule.because,
            )


def _totals(site: Site) -> Iterator[Conflict]:
    """Compare what all services take with all that could be there, resource by resource."""
    for name in INSTALLED:
        there = sum(
            getattr(candidate.spec(site), name) * _units(site, candidate)
            for candidate in eligibility.candidates(site)
        )
        hours = range(site.slots)
        taken = [sum(service.demand.at(name, hour) for service in site.services) for hour in hours]
        hour = max(hours, key=lambda each: taken[each])
        if exceeds(taken[hour], there):
            most = max(site.services, key=lambda service: service.demand.at(name, hour))
            unit = RESOURCES[name].unit
            amount, shown = taken[hour] - there, Shown.IN_ALL
            yield Conflict(Rule.CAPACITY, (most.name,), None, name, hour, amount, unit, there, shown)


def _units(site: Site, candidate: eligibility.Candidate) -> int:
    return 1 if candidate.sort == "box" else site.kind[candidate.ref].max_units
