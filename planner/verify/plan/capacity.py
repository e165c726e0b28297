"""What services take of each machine in each hour, against what the machine has."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.machines import Role
from planner.domain.resources import RESOURCES
from planner.domain.site import Site
from planner.domain.state import Machine
from planner.verify.trial import Finding, Trial, exceeds, number


def capacity(trial: Trial) -> Iterator[Finding]:
    """On every machine every resource suffices in every hour, with headroom on all but bare boxes."""
    for machine in trial.state.machines:
        if trial.excused(machine):
            continue
        for resource in RESOURCES:
            loads = [load(trial.site, machine, resource, slot) for slot in range(trial.site.slots)]
            worst = max(range(len(loads)), key=loads.__getitem__)
            if exceeds(loads[worst], limit(trial.site, machine, resource)):
                yield machine.name, _sentence(trial.site, machine, resource, loads[worst], worst)


def load(site: Site, machine: Machine, resource: str, slot: int) -> float:
    """Compute what a machine's services and its being a host take of a resource in an hour."""
    plain = sum((site.service[name].demand.at(resource, slot) for name in machine.services), start=0.0)
    if machine.role is not Role.HOST:
        return plain
    if resource == "cpu":
        return plain + plain * site.policy.host_cpu_share
    if resource == "memory_gib":
        return plain + len(machine.services) * site.policy.guest_memory_gib + site.policy.host_memory_gib
    return plain


def limit(site: Site, machine: Machine, resource: str) -> float:
    """Compute what a machine may be loaded with of a resource; virtual cores limit hosts only."""
    spec = machine.spec(site)
    if resource == "vcpu":
        return spec.cores * site.policy.vcpu_per_core if machine.role is Role.HOST else float("inf")
    installed: float = getattr(spec, resource)
    return installed * (1.0 - _headroom(site, machine, resource))


def _headroom(site: Site, machine: Machine, resource: str) -> float:
    return 0.0 if machine.role is Role.BARE else site.policy.headroom.get(resource, 0.0)


def _sentence(site: Site, machine: Machine, resource: str, needed: float, slot: int) -> str:
    label, unit = RESOURCES[resource].label, RESOURCES[resource].unit
    there, kept = limit(site, machine, resource), _headroom(site, machine, resource)
    product = ""
    if resource == "vcpu":
        product = f"{number(machine.spec(site).cores)} cores x {number(site.policy.vcpu_per_core)} = "
    elif kept:
        product = (
            f"{number(getattr(machine.spec(site), resource))} {unit} x {number(100.0 - 100.0 * kept)} % = "
        )
    when = f" in hour {slot}" if site.slots > 1 else ""
    asked = f"{label} of {machine.name}{when}: {number(needed)} {unit} needed"
    return f"{asked}, {product}{number(there)} {unit} there"
