"""The loss of any hosts that are spare as a constraint programme: restarts have a place on those left."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import TYPE_CHECKING

from planner.domain.machines import Role
from planner.domain.resources import RESOURCES

if TYPE_CHECKING:
    from tests.oracles.cpsat_model import Encoding, Literal, Unit

SCALE = 1_000
"""As the other capacities: thousandths."""

Restarts = dict[tuple[str, "Unit"], "Literal"]


def add_spare(code: Encoding) -> None:
    """For each loss there may be, a place on a host left for every service that restarts, beside the rest."""
    if not code.site.policy.spare_hosts:
        return
    hosts = [unit for unit in code.units if unit.role is Role.HOST]
    names = sorted({unit.name for unit in hosts})
    for gone in combinations(names, min(code.site.policy.spare_hosts, len(names))):
        lost = [unit for unit in hosts if unit.name in gone]
        _loss(code, lost, [unit for unit in hosts if unit.name not in gone])


def _loss(code: Encoding, lost: list[Unit], left: list[Unit]) -> None:
    site, model = code.site, code.model
    waiting = [
        s
        for s in site.services
        if s.restart and s.stay_on is None and any((s.name, unit) in code.place for unit in lost)
    ]
    goes: Restarts = {
        (s.name, unit): code.literal() for s in waiting for unit in left if s.needs <= unit.spec.offers
    }
    for service in waiting:
        gone = sum(code.place.get((service.name, unit), 0) for unit in lost)
        model.add(sum(lit for (name, _), lit in goes.items() if name == service.name) == gone)
    names = [service.name for service in waiting]
    for rule in site.together:
        both = [name for name in names if name in rule.services]
        for first, second in pairwise(both):
            for unit in left:
                model.add(goes.get((first, unit), 0) == goes.get((second, unit), 0))
    for unit in left:
        _host_holds(code, unit, {name: lit for (name, at), lit in goes.items() if at == unit})


def _host_holds(code: Encoding, unit: Unit, goes: dict[str, Literal]) -> None:
    """Keep a host that is left within its room and rules, with what joins it."""
    site, model, policy = code.site, code.model, code.site.policy
    here = [(s, lit) for s in site.services if (lit := code.place.get((s.name, unit))) is not None]
    here += [(site.service[name], lit) for name, lit in goes.items()]
    for literal in goes.values():
        model.add_implication(literal, code.on[unit])
    for rule in site.apart:
        model.add_at_most_one(lit for service, lit in here if service.name in rule.services)
    flags = []
    for zone in sorted({service.zone for service, _ in here}):
        flags.append(code.literal())
        for service, literal in here:
            if service.zone == zone:
                model.add_implication(literal, flags[-1])
    model.add(sum(flags) <= unit.spec.zones)
    for resource in RESOURCES:
        own, each, factor = 0.0, 0.0, 1.0 + (policy.host_cpu_share if resource == "cpu" else 0.0)
        if resource == "memory_gib":
            own, each = policy.host_memory_gib, policy.guest_memory_gib
        there = policy.vcpu_per_core * unit.spec.cores
        if resource != "vcpu":
            there = getattr(unit.spec, resource) * (1.0 - policy.headroom.get(resource, 0.0))
        for slot in range(site.slots):
            amounts = [round(SCALE * (s.demand.at(resource, slot) * factor + each)) for s, _ in here]
            total = sum(amount * lit for amount, (_, lit) in zip(amounts, here, strict=True))
            model.add(total <= round(SCALE * (there - own)))
