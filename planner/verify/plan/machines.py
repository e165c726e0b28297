"""Rules about machines: how many, in which role, on which circuit, and what may be on them at all."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.machines import Role
from planner.domain.site import Site
from planner.domain.state import Machine, role_today
from planner.verify.trial import Finding, Trial, listed


def units(trial: Trial) -> Iterator[Finding]:
    """No more units of a kind than may be bought."""
    for kind in trial.site.kinds:
        count = sum(machine.kind == kind.name for machine in trial.state.machines)
        if count > kind.max_units:
            yield kind.name, f"{count} units of {kind.name}; at most {kind.max_units} may be bought"


def role(trial: Trial) -> Iterator[Finding]:
    """A unit has its kind's role; a box the role it has today, or that of a host if it may be re-used."""
    for machine in trial.state.machines:
        allowed = _roles(trial.site, machine)
        if machine.role not in allowed:
            names = " or ".join(str(each) for each in allowed)
            yield machine.name, f"{machine.name} has role {machine.role}; it may be {names}"


def _roles(site: Site, machine: Machine) -> tuple[Role, ...]:
    if machine.box is None:
        return (site.kind[machine.kind or ""].role,)
    today = role_today(site, machine.box)
    return (today, Role.HOST) if site.box[machine.box].may_host and today is not Role.HOST else (today,)


def own_circuit(trial: Trial) -> Iterator[Finding]:
    """A box stays on its own circuit."""
    for machine in trial.state.machines:
        if machine.box is not None and machine.circuit != trial.site.box[machine.box].circuit:
            own = trial.site.box[machine.box].circuit
            yield machine.name, f"{machine.name} hangs on {machine.circuit}; its own circuit is {own}"


def residents(trial: Trial) -> Iterator[Finding]:
    """A box that is left as it is, and is no host, carries nothing but what runs on it today."""
    for machine in trial.state.machines:
        strangers = {name for name in machine.services if trial.site.service[name].box != machine.box}
        if machine.role is Role.BARE and strangers:
            yield machine.name, f"{machine.name} is left as it is, but takes over {listed(strangers)}"


def alone(trial: Trial) -> Iterator[Finding]:
    """An appliance or tower carries one service, or several that all must be together."""
    for machine in trial.state.machines:
        if machine.role not in (Role.APPLIANCE, Role.TOWER) or not machine.services:
            continue
        strangers = set(machine.services) - bound_to(trial.site, machine.services[0])
        if strangers:
            first = machine.services[0]
            yield (
                machine.name,
                f"{machine.name} is for one service, but carries {first} and {listed(strangers)}",
            )


def bound_to(site: Site, service: str) -> set[str]:
    """List the services that chains of together-rules tie to a service, itself included."""
    bound, before = {service}, 0
    while len(bound) > before:
        before = len(bound)
        for rule in site.together:
            if rule.services & bound:
                bound |= rule.services
    return bound


def stays(trial: Trial) -> Iterator[Finding]:
    """A box that must stay switched on is on."""
    on = {machine.box for machine in trial.state.machines}
    for box in trial.site.boxes:
        if box.stays is not None and box.name not in on:
            yield box.name, f"{box.name} is off, but must stay on: {box.stays}"


def empty(trial: Trial) -> Iterator[Finding]:
    """A machine that is on carries a service, or is a box that must stay on; not asked on the way."""
    for machine in trial.state.machines:
        kept = machine.box is not None and trial.site.box[machine.box].stays is not None
        if not machine.services and not kept and not trial.moving:
            yield machine.name, f"{machine.name} is on, but carries no service"
