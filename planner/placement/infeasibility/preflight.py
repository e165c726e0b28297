"""What can be said without a solver: services that fit nowhere, rules that contradict each other, sums."""

from __future__ import annotations

from planner import eligibility
from planner.domain.machines import Role
from planner.domain.resources import INSTALLED, RESOURCES
from planner.domain.site import Site
from planner.tolerances import exceeds


def preflight(site: Site) -> tuple[str, ...]:
    """Give, in the person's words, every reason why no plan can exist that shows without solving."""
    return tuple(dict.fromkeys([*_nowhere(site), *_quorums(site), *_totals(site)]))


def _nowhere(site: Site) -> list[str]:
    reasons = []
    candidates = tuple(eligibility.candidates(site))
    shared = [candidate for candidate in candidates if candidate.role is not Role.BARE]
    bare = {candidate.ref: candidate for candidate in candidates if candidate.role is Role.BARE}
    for group in eligibility.groups(site):
        home = bare.get(site.service[group[0]].box)
        able = [*shared, *([home] if home else [])]
        if any(eligibility.obstacle(site, group, each) is None for each in able):
            continue
        obstacle = eligibility.nearest(site, group[0])
        if obstacle is not None:
            reasons.append(obstacle.message)
    return reasons


def _quorums(site: Site) -> list[str]:
    bare = [candidate for candidate in eligibility.candidates(site) if candidate.role is not Role.HOST]
    reasons = []
    for rule in site.quorums:
        able = [
            name
            for name in sorted(rule.services)
            if any(eligibility.may_carry(site, name, candidate) is None for candidate in bare)
        ]
        if len(able) < rule.physical:
            names = ", ".join(sorted(rule.services))
            reasons.append(
                f"{rule.physical} of {names} must stay physical ({rule.because}), but only "
                f"{len(able)} of them fit a machine that is no host"
            )
    return reasons


def _totals(site: Site) -> list[str]:
    """Compare what all services take with all that could be there, resource by resource."""
    reasons = []
    for name in INSTALLED:
        there = sum(
            getattr(candidate.spec(site), name) * _units(site, candidate)
            for candidate in eligibility.candidates(site)
        )
        worst = max(
            sum(service.demand.at(name, hour) for service in site.services) for hour in range(site.slots)
        )
        if exceeds(worst, there):
            label, unit = RESOURCES[name].label, RESOURCES[name].unit
            reasons.append(
                f"all services together take {eligibility.figure(worst)} {unit} of {label}; every machine "
                f"there may be has {eligibility.figure(there)} {unit} in all"
            )
    return reasons


def _units(site: Site, candidate: eligibility.Candidate) -> int:
    return 1 if candidate.sort == "box" else site.kind[candidate.ref].max_units
