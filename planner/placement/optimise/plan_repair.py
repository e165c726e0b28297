"""An earlier plan mended for an edited site: what it leaves without a machine goes home, or where room is.

A repair by first fit: services that may no longer be where they were, or are new, are put back one group
after the other, and all others stay. Whether the result is a plan is for the judge to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from planner import eligibility
from planner.domain.machines import Role
from planner.domain.site import Site
from planner.domain.state import Machine, State, role_today
from planner.placement.failover.guests import left_by_hour, needed_by_hour

Machines = dict[str, Machine]
"""What is on, by name."""

Sorts = Mapping[str, tuple[str, str]]
"""The sort of place that services are to be on, by name, where that is given."""


def mend_plan(site: Site, previous: State, like: State | None = None) -> State:
    """Search for a state that differs from an earlier one in what has no place there any more.

    ``like``: a better state, whose measures and cooling are taken, and what it has on boxes as they are, on
    hosts or on each kind; who is with whom stays as it was, as far as that goes.
    """
    sorts = {} if like is None else _sorts(like)
    machines = {machine.name: _kept(site, machine, sorts) for machine in previous.machines}
    placed = {name for machine in machines.values() for name in machine.services}
    for group in eligibility.groups(site):
        if not placed.issuperset(group):
            machines = {name: _without(machine, group) for name, machine in machines.items()}
            machines |= {machine.name: machine for machine in _homes(site, machines, group, sorts)}
    stays = {box.name for box in site.boxes if box.stays is not None}
    there = (machine for machine in machines.values() if machine.services or machine.box in stays)
    return replace(like or previous, machines=tuple(there))


def _sort(machine: Machine) -> tuple[str, str]:
    """Look up what sort of place a machine is: boxes that are hosts are one sort."""
    if machine.kind is not None:
        return "kind", machine.kind
    return ("host", "") if machine.role is Role.HOST else ("box", machine.name)


def _sorts(state: State) -> dict[str, tuple[str, str]]:
    return {name: _sort(machine) for machine in state.machines for name in machine.services}


def _kept(site: Site, machine: Machine, sorts: Sorts) -> Machine:
    """Look up what of a machine may still be there, and is to be."""
    here = frozenset(machine.services)
    candidate = _candidate(machine)
    stay = (
        name
        for name in machine.services
        if here.issuperset(site.group[name])
        and eligibility.may_carry(site, name, candidate) is None
        and sorts.get(name, _sort(machine)) == _sort(machine)
    )
    return replace(machine, services=tuple(stay), circuit=_circuit(site, machine))


def _circuit(site: Site, machine: Machine) -> str:
    """Look up where a machine hangs now: a box on its own circuit, a unit on the first if its own is gone."""
    if machine.box is not None:
        return site.box[machine.box].circuit
    return machine.circuit if machine.circuit in site.circuit else site.supply.circuits[0].name


def _without(machine: Machine, group: tuple[str, ...]) -> Machine:
    return replace(machine, services=tuple(name for name in machine.services if name not in group))


def _homes(site: Site, machines: Machines, group: tuple[str, ...], sorts: Sorts) -> Iterator[Machine]:
    """Find the machine that takes a group: the box it is on today, as that is, else the first with room."""
    box = site.box[site.service[group[0]].box]
    at_home = machines.get(box.name, Machine(box.name, role_today(site, box.name), box.circuit, (), box.name))
    others = (machine for machine in machines.values() if machine.role is Role.HOST)
    for machine in (*((at_home,) if at_home.role is role_today(site, box.name) else ()), *others):
        wanted = sorts.get(group[0], _sort(machine)) == _sort(machine)
        able = wanted and eligibility.obstacle(site, group, _candidate(machine)) is None
        if able and _has_room(site, machine, group):
            yield replace(machine, services=(*machine.services, *group))
            return


def _has_room(site: Site, machine: Machine, group: tuple[str, ...]) -> bool:
    """Say whether a host holds a group beside what it carries; a box as it is today holds its own."""
    if machine.role is not Role.HOST:
        return True
    everyone = frozenset((*machine.services, *group))
    if any(len(rule.services & everyone) > 1 for rule in site.apart if rule.services & {*group}):
        return False
    zones = {site.service[name].zone for name in everyone}
    return len(zones) <= machine.spec(site).zones and bool(
        (needed_by_hour(site, group) <= left_by_hour(site, machine)).all()
    )


def _candidate(machine: Machine) -> eligibility.Candidate:
    if machine.box is not None:
        return eligibility.Candidate(machine.box, "box", machine.role)
    return eligibility.Candidate(machine.kind or "", "kind", machine.role)
