"""What can be said without a solver: services that fit nowhere, rules that contradict each other, sums."""

from __future__ import annotations

from planner import fit
from planner.site import RESOURCES, Role, Site
from planner.tolerances import exceeds


def preflight(site: Site) -> tuple[str, ...]:
    """Give, in the person's words, every reason why no plan can exist that shows without solving."""
    return tuple(dict.fromkeys([*_nowhere(site), *_quorums(site), *_totals(site)]))


def _nowhere(site: Site) -> list[str]:
    reasons = []
    shared = [candidate for candidate in fit.candidates(site) if candidate.role is not Role.BARE]
    bare = {candidate.ref: candidate for candidate in fit.candidates(site) if candidate.role is Role.BARE}
    for group in fit.groups(site):
        home = bare.get(site.service[group[0]].box)
        if any(fit.obstacle(site, group, each) is None for each in [*shared, *([home] if home else [])]):
            continue
        obstacle = fit.nearest(site, group[0])
        if obstacle is not None:
            reasons.append(obstacle.message)
    return reasons


def _quorums(site: Site) -> list[str]:
    bare = [candidate for candidate in fit.candidates(site) if candidate.role is not Role.HOST]
    reasons = []
    for rule in site.quorums:
        able = [
            name
            for name in sorted(rule.services)
            if any(fit.may_carry(site, name, candidate) is None for candidate in bare)
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
    for resource in RESOURCES:
        if resource == "vcpu":
            continue
        there = sum(
            getattr(candidate.spec(site), resource) * _units(site, candidate)
            for candidate in fit.candidates(site)
        )
        worst = max(
            sum(service.demand.at(resource, hour) for service in site.services) for hour in range(site.slots)
        )
        if exceeds(worst, there):
            label, unit = fit.UNITS[resource]
            reasons.append(
                f"all services together take {fit.figure(worst)} {unit} of {label}; every machine there may "
                f"be has {fit.figure(there)} {unit} in all"
            )
    return reasons


def _units(site: Site, candidate: fit.Candidate) -> int:
    return 1 if candidate.sort == "box" else site.kind[candidate.ref].max_units
