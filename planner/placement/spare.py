"""Where services restart when hosts are lost: each failure is packed, from the site and a state alone.

The hosts that are left keep what they carry. What packs quickly is taken; else a small whole-number
programme decides.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
import pulp

from planner import fit
from planner.milp import Limits, Program, run
from planner.site import RESOURCES, Role, Service, Site
from planner.state import Machine, State
from planner.verify.spare import unshown
from planner.verify.trial import Trial

SLACK = 1e-7
"""Share of a host's room that is taken for rounding, or of one unit of what it has."""

SECONDS = 10.0
"""How long the failures of one state may take to pack that do not pack quickly."""

Grid = np.ndarray[tuple[int, int], np.dtype[np.float64]]
"""Resources by hours; one column where no service has a profile."""


@dataclass(frozen=True)
class Restart:
    """What a loss means: by service the host it restarts on, and what does not come back.

    ``lost``: the names of the hosts lost at once. ``stays_off``: services that need not restart or are tied
    to a lost box; ``stranded``: those for which no room was found, none in a plan that passed.
    """

    lost: tuple[str, ...]
    to: tuple[tuple[str, str], ...]
    stays_off: tuple[str, ...] = ()
    stranded: tuple[str, ...] = ()


@dataclass(frozen=True)
class Part:
    """Services of a lost host that restart together, and what they take as guests of a host."""

    services: tuple[Service, ...]
    takes: Grid

    @property
    def names(self) -> frozenset[str]:
        """The services' names."""
        return frozenset(service.name for service in self.services)

    @property
    def zones(self) -> frozenset[str]:
        """The zones the services are in."""
        return frozenset(service.zone for service in self.services)


def restarts(site: Site, state: State) -> tuple[Restart, ...]:
    """Give, for each loss of as many hosts as are spare (one at least), where services restart."""
    return tuple(_restart(site, state, lost) for lost in losses(site, state, least=1))


Loss = tuple[Machine, ...]
"""Hosts that are lost at once."""


def losses(site: Site, state: State, least: int = 0) -> Iterator[Loss]:
    """Give every loss of as many hosts as are spare, in the state's order; of all where there are fewer."""
    hosts = hosts_of(state)
    many = min(max(least, site.policy.spare_hosts), len(hosts))
    return combinations(hosts, many) if many else iter(())


def _restart(site: Site, state: State, lost: Loss) -> Restart:
    parts = [part for host in lost for part in parts_of(site, host)]
    there = packed(site, parts, [host for host in hosts_of(state) if host not in lost])
    waiting = {name for part in parts for name in part.names}
    homes = {name: host for part, host in zip(parts, there or (), strict=False) for name in part.names}
    services = [name for host in lost for name in host.services]
    return Restart(
        tuple(host.name for host in lost),
        tuple((name, homes[name]) for name in services if name in homes),
        tuple(name for name in services if name not in waiting),
        tuple(name for name in services if name in waiting and name not in homes),
    )


def failing(
    site: Site, state: State, limits: Limits | None = None, cancel: threading.Event | None = None
) -> tuple[tuple[str, ...], ...]:
    """Give the losses not shown to pack, here or to the judge, by names; none where none is asked for."""
    if not site.policy.spare_hosts:
        return ()
    hosts, given = hosts_of(state), limits or Limits()
    deadline = time.monotonic() + min(given.time_s, SECONDS)

    def fails(lost: Loss) -> bool:
        others = [host for host in hosts if host not in lost]
        parts = [part for host in lost for part in parts_of(site, host)]
        left = replace(given, time_s=deadline - time.monotonic())
        return packed(site, parts, others, left, cancel) is None

    found = tuple(tuple(host.name for host in lost) for lost in losses(site, state) if fails(lost))
    return found or tuple(lost for lost, _ in unshown(Trial(site, state)))


def hosts_of(state: State) -> list[Machine]:
    """Give the machines of a state that carry guests, or may."""
    return [machine for machine in state.machines if machine.role is Role.HOST]


def parts_of(site: Site, lost: Machine) -> list[Part]:
    """Give what must find another host: services that share a machine as one, the site's order."""
    waiting = [
        name for name in lost.services if site.service[name].restart and site.service[name].stay_on is None
    ]
    merged = (tuple(other for other in waiting if other in site.group[name]) for name in waiting)
    return [
        Part(tuple(site.service[name] for name in names), taken(site, names))
        for names in dict.fromkeys(merged)
    ]


def taken(site: Site, names: Sequence[str]) -> Grid:
    """Give what guests take of a host by resource and hour, their overhead included."""
    policy, services = site.policy, [site.service[name] for name in names]
    total = np.zeros((len(RESOURCES), site.slots))
    for service in services:
        for index, resource in enumerate(RESOURCES):
            total[index] += np.asarray(getattr(service.demand, resource), float)
    total[RESOURCES.index("cpu")] *= 1.0 + policy.host_cpu_share
    total[RESOURCES.index("memory_gib")] += policy.guest_memory_gib * len(services)
    return total


def room_left(site: Site, host: Machine) -> Grid:
    """Give what a host has left by resource and hour."""
    return room_of(site, host) - taken(site, host.services)


def room_of(site: Site, host: Machine) -> Grid:
    """Give what an empty host has for guests, by resource (one column)."""
    sort: fit.Candidate = fit.Candidate(
        host.box or host.kind or "", "box" if host.box is not None else "kind", Role.HOST
    )
    rooms = [fit.room_for(site, sort, resource) for resource in RESOURCES]
    room = np.array([np.inf if value is None else value for value in rooms], float)
    grid: Grid = (room + SLACK * np.maximum(1.0, np.abs(room)))[:, None]
    return grid


def packed(
    site: Site,
    parts: Sequence[Part],
    hosts: Sequence[Machine],
    limits: Limits | None = None,
    cancel: threading.Event | None = None,
) -> tuple[str, ...] | None:
    """Give, by part, the host it restarts on beside what is there; None where that is not shown to go."""
    if not parts:
        return ()
    able = [[host for host in hosts if _may_join(site, part, host)] for part in parts]
    if not all(able):
        return None
    rooms = {host.name: room_left(site, host) for host in hosts}
    return _greedily(site, parts, able, rooms) or _exactly(site, parts, able, rooms, limits, cancel)


def _may_join(site: Site, part: Part, host: Machine) -> bool:
    """Say whether a part may join a host by every rule but room."""
    spec = host.spec(site)
    zones = part.zones | {site.service[name].zone for name in host.services}
    if len(zones) > spec.zones or any(service.needs - spec.offers for service in part.services):
        return False
    everyone = part.names.union(host.services)
    return all(len(rule.services & everyone) < 2 or not rule.services & part.names for rule in site.apart)


def _greedily(
    site: Site, parts: Sequence[Part], able: Sequence[Sequence[Machine]], rooms: Mapping[str, Grid]
) -> tuple[str, ...] | None:
    """Try some orders of the parts, each part on the fullest host that takes it, or on the emptiest."""
    whole = np.maximum(sum(rooms.values()), 1e-9)
    shares = np.array([(part.takes / whole).max(axis=1) for part in parts])
    keys = [shares.max(axis=1), shares.sum(axis=1), *shares.T]
    for key, emptiest in product(keys, (False, True)):
        order = sorted(range(len(parts)), key=lambda index: (len(able[index]), -key[index], index))
        found = _in_order(site, parts, able, dict(rooms), order, emptiest)
        if found is not None:
            return tuple(found[index] for index in range(len(parts)))
    return None


def _in_order(
    site: Site,
    parts: Sequence[Part],
    able: Sequence[Sequence[Machine]],
    rooms: dict[str, Grid],
    order: Sequence[int],
    emptiest: bool,
) -> dict[int, str] | None:
    joined: dict[str, list[int]] = {}
    found: dict[int, str] = {}
    for index in order:
        part = parts[index]
        fits = [
            host
            for host in able[index]
            if (part.takes <= rooms[host.name]).all()
            and _go_together(site, part, [parts[other] for other in joined.get(host.name, [])], host)
        ]
        if not fits:
            return None
        measure = [float((part.takes / np.maximum(rooms[host.name], 1e-9)).max()) for host in fits]
        host = fits[int(np.argmin(measure) if emptiest else np.argmax(measure))]
        rooms[host.name] = rooms[host.name] - part.takes
        joined.setdefault(host.name, []).append(index)
        found[index] = host.name
    return found


def _go_together(site: Site, part: Part, others: Sequence[Part], host: Machine) -> bool:
    """Say whether parts that restart on one host go together there."""
    names = part.names.union(*(other.names for other in others))
    zones = part.zones.union(*(other.zones for other in others))
    zones |= {site.service[name].zone for name in host.services}
    return len(zones) <= host.spec(site).zones and not any(
        len(rule.services & names) > 1 for rule in site.apart
    )


def _exactly(
    site: Site,
    parts: Sequence[Part],
    able: Sequence[Sequence[Machine]],
    rooms: Mapping[str, Grid],
    limits: Limits | None,
    cancel: threading.Event | None,
) -> tuple[str, ...] | None:
    """Settle by a whole-number programme."""
    program = Program()
    pairs = [(index, host) for index, hosts in enumerate(able) for host in hosts]
    goes = {(index, host.name): program.binary(f"{index}>{host.name}") for index, host in pairs}
    for index, hosts in enumerate(able):
        terms = [(goes[index, host.name], 1.0) for host in hosts]
        program.row(f"once:{index}", program.total(terms) == 1)
    for host in {host.name: host for _, host in pairs}.values():
        here = [index for index in range(len(parts)) if (index, host.name) in goes]
        for number, (sizes, room) in enumerate(tight_rows([parts[i].takes for i in here], rooms[host.name])):
            terms = [(goes[i, host.name], size) for i, size in zip(here, sizes, strict=True)]
            program.row(f"room:{host.name}/{number}", program.total(terms) <= room)
        carried = frozenset(site.service[name].zone for name in host.services)
        joining = [(parts[i], goes[i, host.name]) for i in here]
        keep_rules(site, program, host, host.name, joining, carried)
    given = limits or Limits()
    small = Limits(min(given.time_s, SECONDS), seed=given.seed)
    answer = run(program, program.total([]), small, cancel=cancel)
    if not answer.found:
        return None
    chosen = {index: name for (index, name), v in goes.items() if answer.values[v.name] > 0.5}
    return tuple(chosen[index] for index in range(len(parts)))


def keep_rules(
    site: Site,
    program: Program,
    host: Machine,
    label: str,
    joining: Sequence[tuple[Part, pulp.LpVariable]],
    carried: frozenset[str] = frozenset(),
) -> None:
    """Add the rows for parts that may join a host which carries some zones: who is apart, how many zones."""
    for number, rule in enumerate(site.apart):
        terms = [(variable, 1.0) for part, variable in joining if rule.services & part.names]
        if len(terms) > 1:
            program.row(f"apart {number}:{label}", program.total(terms) <= 1)
    most, new = host.spec(site).zones, frozenset[str]().union(*(part.zones for part, _ in joining)) - carried
    if len(new) + len(carried) <= most:
        return
    flags = {zone: program.continuous(f"zone:{zone}@{label}") for zone in sorted(new)}
    for number, (part, variable) in enumerate(joining):
        for zone in sorted(part.zones - carried):
            program.row(f"zone:{zone}/{number}@{label}", variable <= flags[zone])
    used = program.total([(flag, 1.0) for flag in flags.values()])
    program.row(f"zones:{label}", used <= most - len(carried))


def tight_rows(takes: Sequence[Grid], room: Grid) -> Iterator[tuple[list[float], float]]:
    """Give sizes and room in every resource and hour that can bind; what another hour covers is left out."""
    for resource in range(room.shape[0]) if takes else ():
        sizes = np.array([grid[resource] for grid in takes])
        rooms = np.broadcast_to(room[resource], sizes.shape[1:])
        hours = [hour for hour in range(sizes.shape[1]) if sizes[:, hour].sum() > rooms[hour]]
        kept: list[int] = []
        for hour in sorted(hours, key=lambda index: float(rooms[index] - sizes[:, index].sum())):
            if not any((sizes[:, hour] <= sizes[:, k]).all() and rooms[hour] >= rooms[k] for k in kept):
                kept.append(hour)
        for hour in kept:
            yield sizes[:, hour].tolist(), float(rooms[hour])
