"""Guests and the hosts they are on: what moves as one, what it takes, and the rules of a host it joins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pulp

from planner import capacity
from planner.domain.machines import Role
from planner.domain.resources import RESOURCES
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.placement.params import PARAMS
from planner.solver import Program

Grid = np.ndarray[tuple[int, int], np.dtype[np.float64]]
"""Resources by hours; one column where no service has a profile."""

Loss = tuple[Machine, ...]
"""Hosts that are lost at once."""


@dataclass(frozen=True)
class GuestItem:
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


def losses(site: Site, state: State, least: int = 0) -> Iterator[Loss]:
    """List every loss of as many hosts as are spare, in the state's order; of all where there are fewer."""
    hosts = hosts_of(state)
    many = min(max(least, site.policy.spare_hosts), len(hosts))
    return combinations(hosts, many) if many else iter(())


def hosts_of(state: State) -> list[Machine]:
    """Look up the machines of a state that carry guests, or may."""
    return [machine for machine in state.machines if machine.role is Role.HOST]


def restarting_items(site: Site, lost: Machine) -> list[GuestItem]:
    """List what must find another host: services that share a machine as one, the site's order."""
    waiting = [
        name for name in lost.services if site.service[name].restart and site.service[name].stay_on is None
    ]
    merged = (tuple(other for other in waiting if other in site.group[name]) for name in waiting)
    return [
        GuestItem(tuple(site.service[name] for name in names), needed_by_hour(site, names))
        for names in dict.fromkeys(merged)
    ]


def needed_by_hour(site: Site, names: Sequence[str]) -> Grid:
    """Compute what guests take of a host by resource and hour, their overhead included."""
    total, services = np.zeros((len(RESOURCES), site.slots)), [site.service[name] for name in names]
    for index, resource in enumerate(RESOURCES):
        for service in services:
            total[index] += np.asarray(service.demand.by_hour(resource), float)
        total[index] = capacity.overhead(site, Role.HOST, resource).added(total[index], len(services))
    return total


def left_by_hour(site: Site, host: Machine) -> Grid:
    """Compute what a host has left by resource and hour."""
    return usable_by_resource(site, host) - needed_by_hour(site, host.services)


def usable_by_resource(site: Site, host: Machine) -> Grid:
    """Compute what an empty host has for guests, by resource (one column)."""
    spec = host.spec(site)
    room = np.array([capacity.usable(site, spec, Role.HOST, resource) for resource in RESOURCES])
    grid: Grid = (room + PARAMS.near.slack * np.maximum(1.0, np.abs(room)))[:, None]
    return grid


def keep_rules(
    site: Site,
    program: Program,
    host: Machine,
    label: str,
    joining: Sequence[tuple[GuestItem, pulp.LpVariable]],
    carried: frozenset[str] = frozenset(),
) -> None:
    """Add the rows for items that may join a host which carries some zones: who is apart, how many zones."""
    for number, rule in enumerate(site.apart):
        terms = [(variable, 1.0) for item, variable in joining if rule.services & item.names]
        if len(terms) > 1:
            program.row(f"apart {number}:{label}", program.total(terms) <= 1)
    most, new = host.spec(site).zones, frozenset[str]().union(*(item.zones for item, _ in joining)) - carried
    if len(new) + len(carried) <= most:
        return
    flags = {zone: program.continuous(f"zone:{zone}@{label}") for zone in sorted(new)}
    for number, (item, variable) in enumerate(joining):
        for zone in sorted(item.zones - carried):
            program.row(f"zone:{zone}/{number}@{label}", variable <= flags[zone])
    used = program.total([(flag, 1.0) for flag in flags.values()])
    program.row(f"zones:{label}", used <= most - len(carried))


def tight_rows(takes: Sequence[Grid], room: Grid) -> Iterator[tuple[list[float], float]]:
    """Compute sizes and room in each resource and hour that can bind and that no other hour covers."""
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
