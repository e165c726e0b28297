"""Every way to place a small site's services on machines that breaks no rule about placement alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from planner.domain.machines import Role, Spec
from planner.domain.resources import RESOURCES
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import Machine

LOOSE = 1e-5
"""Relative excess over a capacity that is left for the judge to refuse."""


def placements(site: Site) -> Iterator[tuple[Machine, ...]]:
    """List every set of machines that carries all services once; units hang on no circuit yet."""
    slots = _slots(site)
    for chosen in _choices(site, slots, ()):
        carried: dict[int, list[str]] = {}
        for service, index in zip(site.services, chosen, strict=True):
            carried.setdefault(index, []).append(service.name)
        machines = tuple(
            Machine(slot.name, slot.role, slot.circuit, tuple(carried[index]), slot.box, slot.kind)
            for index, slot in enumerate(slots)
            if index in carried
        )
        if _rules_hold(site, machines):
            for empty in _kept_empty(site, machines):
                yield machines + empty


def _slots(site: Site) -> list[Machine]:
    slots: list[Machine] = []
    for box in site.boxes:
        slots += [Machine(box.name, role, box.circuit, (), box=box.name) for role in _roles(site, box.name)]
    for kind in site.kinds:
        slots += [
            Machine(f"{kind.name}-{unit + 1}", kind.role, "", (), kind=kind.name)
            for unit in range(kind.max_units)
        ]
    return slots


def _roles(site: Site, name: str) -> tuple[Role, ...]:
    box = site.box[name]
    if box.hosts_today:
        return (Role.HOST,)
    return (Role.BARE, Role.HOST) if box.may_host else (Role.BARE,)


def _choices(site: Site, slots: Sequence[Machine], taken: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """List a slot index a service; alike units are opened in order, a box has one role."""
    if len(taken) == len(site.services):
        yield taken
        return
    service = site.services[len(taken)]
    for index, slot in enumerate(slots):
        before = slots[index - 1] if index else None
        alike = before is not None and slot.kind is not None and before.kind == slot.kind
        if alike and index - 1 not in taken:
            continue
        other_role = any(slots[other].name == slot.name and other != index for other in taken)
        if not other_role and _may_run(site, service, slot):
            yield from _choices(site, slots, (*taken, index))


def _may_run(site: Site, service: Service, slot: Machine) -> bool:
    if slot.role is Role.BARE and service.box != slot.box:
        return False
    if slot.role is Role.HOST and service.physical is not None:
        return False
    return service.stay_on in (None, slot.box) and service.needs <= slot.spec(site).offers


def _rules_hold(site: Site, machines: Sequence[Machine]) -> bool:
    home = {name: machine for machine in machines for name in machine.services}
    if any(len({home[name].name for name in rule.services}) > 1 for rule in site.together):
        return False
    if any(len({home[name].name for name in rule.services}) < len(rule.services) for rule in site.apart):
        return False
    for rule in site.quorums:
        if sum(home[name].role is not Role.HOST for name in rule.services) < rule.physical:
            return False
    return all(_machine_holds(site, machine) for machine in machines)


def _machine_holds(site: Site, machine: Machine) -> bool:
    services = [site.service[name] for name in machine.services]
    spec = machine.spec(site)
    if len({service.zone for service in services}) > spec.zones:
        return False
    tied = frozenset[str]().union(*(rule.services for rule in site.together))
    single = machine.role in (Role.APPLIANCE, Role.TOWER) and len(services) > 1
    if single and not tied.issuperset(machine.services):
        return False
    return all(_holds(site, machine.role, spec, services, resource) for resource in RESOURCES)


def _holds(site: Site, role: Role, spec: Spec, services: Sequence[Service], resource: str) -> bool:
    policy, host = site.policy, role is Role.HOST
    if resource == "vcpu" and not host:
        return True
    most = max(sum(s.demand.at(resource, slot) for s in services) for slot in range(site.slots))
    share = 0.0 if role is Role.BARE else policy.headroom.get(resource, 0.0)
    there = (
        policy.vcpu_per_core * spec.cores if resource == "vcpu" else getattr(spec, resource) * (1.0 - share)
    )
    if host and resource == "cpu":
        most *= 1.0 + policy.host_cpu_share
    if host and resource == "memory_gib":
        most += policy.host_memory_gib + policy.guest_memory_gib * len(services)
    return bool(most <= there * (1.0 + LOOSE) + LOOSE)


def _kept_empty(site: Site, machines: Sequence[Machine]) -> Iterator[tuple[Machine, ...]]:
    """List the ways to keep on, empty, the boxes that must stay: in each role they may have."""
    on = {machine.name for machine in machines}
    kept = [box for box in site.boxes if box.stays is not None and box.name not in on]
    for roles in product(*(_roles(site, box.name) for box in kept)):
        yield tuple(
            Machine(box.name, role, box.circuit, (), box=box.name)
            for box, role in zip(kept, roles, strict=True)
        )
