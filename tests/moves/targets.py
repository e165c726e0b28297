"""Targets for orders of moves, made without a solver: services packed onto hosts by first fit."""

from __future__ import annotations

import random
from collections.abc import Sequence

from planner import capacity
from planner.domain.machines import Role
from planner.domain.resources import RESOURCES
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.verify import verify_state


def _fits(site: Site, machine: Machine, service: Service) -> bool:
    full = Machine(
        machine.name,
        machine.role,
        machine.circuit,
        (*machine.services, service.name),
        machine.box,
        machine.kind,
    )
    for rule in site.apart:
        if service.name in rule.services and rule.services & {*machine.services}:
            return False
    zones = {site.service[name].zone for name in full.services}
    if len(zones) > machine.spec(site).zones:
        return False
    carried, spec = [site.service[name] for name in full.services], full.spec(site)
    return all(
        capacity.most_needed(site, full.role, carried, resource)
        <= capacity.usable(site, spec, full.role, resource)
        for resource in RESOURCES
    )


def hosts(site: Site, rng: random.Random) -> list[Machine]:
    """List empty hosts: every unit of a host kind, kept hosts, and sometimes a box to re-use."""
    circuit = site.supply.circuits[0].name
    found = [
        Machine(f"{kind.name}-{unit + 1}", Role.HOST, circuit, (), kind=kind.name)
        for kind in site.kinds
        if kind.role is Role.HOST
        for unit in range(kind.max_units)
    ]
    for box in site.boxes:
        if box.hosts_today or (box.may_host and rng.random() < 0.4):
            found.append(Machine(box.name, Role.HOST, box.circuit, (), box=box.name))
    return found


def _with(machine: Machine, services: Sequence[str]) -> Machine:
    return Machine(machine.name, machine.role, machine.circuit, tuple(services), machine.box, machine.kind)


def target(site: Site, seed: int = 0) -> State:
    """Make a state to reach: services first-fit on hosts, the rest where they are, some cooling off."""
    rng = random.Random(seed)
    choices = hosts(site, rng)
    rng.shuffle(choices)
    load_of: dict[str, list[str]] = {machine.name: [] for machine in choices}
    staying: dict[str, list[str]] = {}
    for service in site.services:
        fitting = [m for m in choices if _fits(site, _with(m, load_of[m.name]), service)]
        if fitting and rng.random() < 0.8:
            load_of[fitting[0].name].append(service.name)
        else:
            staying.setdefault(service.box, []).append(service.name)
    return _state(site, rng, choices, load_of, staying)


def _state(
    site: Site,
    rng: random.Random,
    choices: Sequence[Machine],
    load_of: dict[str, list[str]],
    staying: dict[str, list[str]],
) -> State:
    today = {machine.name: machine for machine in state_today(site).machines}
    machines = []
    for machine in choices:
        stay = staying.pop(machine.name, []) if machine.box else []
        if load_of[machine.name] or stay:
            machines.append(_with(machine, [*load_of[machine.name], *stay]))
    machines += [_with(today[box], names) for box, names in staying.items()]
    measures = [item for item in site.measures if rng.random() < 0.5]
    names = {item.name for item in measures}
    chosen = frozenset(item.name for item in measures if item.requires <= names and not item.excludes & names)
    return State(tuple(machines), chosen, _cooling(site, rng))


def _cooling(site: Site, rng: random.Random) -> dict[str, frozenset[str]]:
    def runs(name: str) -> bool:
        return rng.random() < 0.6

    return {
        season.name: frozenset(
            option.name for option in site.cooling if season.name in option.removal and runs(option.name)
        )
        for season in site.seasons
    }


def good_target(site: Site) -> State | None:
    """Make a state to reach that the judge has nothing against; None where no plan is found soon."""
    plan = solve(site, Options(time_s=5.0)).plan
    return None if plan is None or verify_state(site, plan.state) else plan.state


def easy_target(site: Site, seed: int, tries: int = 6) -> State | None:
    """Make a good state to reach made without a solver: who may go moves onto bought hosts, the rest stays.

    None where the judge has something against each of a few.
    """
    today = state_today(site)
    rules = [*(rule.services for rule in site.together), *(rule.services for rule in site.quorums)]
    tied = frozenset[str]().union(*rules)
    for attempt in range(tries):
        rng = random.Random(f"{seed}/{attempt}")
        found = {machine.name: machine for machine in today.machines}
        new = [machine for machine in hosts(site, rng) if machine.kind is not None]
        for service in site.services:
            free = service.physical is None and service.stay_on is None and service.name not in tied
            fitting = [machine for machine in new if _fits(site, machine, service)]
            if free and not service.needs and fitting and rng.random() < 0.8:
                place = new.index(rng.choice(fitting))
                new[place] = _with(new[place], [*new[place].services, service.name])
                box = found[service.box]
                found[service.box] = _with(box, [name for name in box.services if name != service.name])
        stay = [m for m in found.values() if m.services or site.box[m.name].stays is not None]
        come = [m for m in new if m.services]
        state = State((*come, *stay), frozenset(), today.cooling)
        if not verify_state(site, state):
            return state
    return None
