"""Whether the services of any lost hosts, as many as are spare, find room on the hosts that are left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from planner.domain.machines import Role
from planner.domain.plan import Plan, Restart
from planner.domain.resources import INSTALLED, RESOURCES
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.verify.plan.capacity import capacity, limit, load
from planner.verify.plan.machines import bound_to
from planner.verify.plan.services import apart, needs, zones
from planner.verify.trial import Finding, Trial, exceeds, listed

MOST_TRIES = 5_000
"""Placings tried for one loss; what is not shown by then is not believed."""

QUICK_TRIES = 500
"""Placings tried in each order of the services before the first order is tried in full."""

Item = tuple[str, ...]
"""Services that restart together."""

Where = tuple[str, int]
"""A resource and an hour."""


def spare(trial: Trial) -> Iterator[Finding]:
    """With spare hosts asked for, the loss of any so many leaves room for what must restart of them.

    The others stay where they are. A service tied to a lost box is an accepted loss. Not asked on the way.
    """
    if not trial.moving:
        yield from ((" and ".join(lost), sentence) for lost, sentence in unshown(trial))


def unshown(trial: Trial) -> Iterator[tuple[tuple[str, ...], str]]:
    """List the names of the hosts in every loss that is not shown to pack, each with a sentence."""
    if not trial.site.policy.spare_hosts:
        return
    hosts = [machine for machine in trial.state.machines if machine.role is Role.HOST]
    for lost in combinations(hosts, min(trial.site.policy.spare_hosts, len(hosts))):
        left = tuple(machine for machine in hosts if machine not in lost)
        items = [item for machine in lost for item in _to_restart(trial.site, machine)]
        search = _Search(trial.site, items, left)
        if not search.packs():
            names = listed({name for item in items for name in item})
            why = "it is not shown that" if search.tries > MOST_TRIES else "there is no way in which"
            gone = tuple(machine.name for machine in lost)
            who = f"{' and '.join(gone)} {'is' if len(gone) == 1 else 'are'} lost"
            yield gone, f"if {who}, {why} the hosts that are left can carry {names}"


def restarts(trial: Trial, plan: Plan) -> Iterator[Finding]:
    """What a plan says of lost hosts holds: all that must restart does, on hosts left that can carry it."""
    for said in plan.restarts:
        yield from ((" and ".join(said.lost), sentence) for sentence in _not_so(trial, said))


def _not_so(trial: Trial, said: Restart) -> Iterator[str]:
    hosts = {machine.name: machine for machine in trial.state.machines if machine.role is Role.HOST}
    unknown = [name for name in said.lost if name not in hosts]
    if unknown:
        yield f"{listed(set(unknown))} is said to be lost, and is no host"
        return
    left = {name: host for name, host in hosts.items() if name not in said.lost}
    waiting = {item for name in said.lost for item in _to_restart(trial.site, hosts[name])}
    homes = dict(said.to)
    strays = {name for name, _ in said.to} - {name for item in waiting for name in item}
    if strays:
        yield f"{listed(strays)} is said to restart, and is not lost"
    for item in sorted(waiting):
        there = {homes.get(name) for name in item}
        if len(there) > 1 or not there <= set(left):
            yield f"{listed(set(item))} is not said to restart on one host that is left"
    for name, host in left.items():
        coming = tuple(service for service, home in said.to if home == name and service not in strays)
        fuller = Trial(trial.site, State((replace(host, services=(*host.services, *coming)),)))
        if coming and any(True for rule in (capacity, needs, zones, apart) for _ in rule(fuller)):
            yield f"{name} cannot carry {listed(set(coming))} as well"


def _to_restart(site: Site, lost: Machine) -> list[Item]:
    """Find what must find a new host, services that must be together as one, in the host's order."""
    waiting = [
        name for name in lost.services if site.service[name].restart and site.service[name].stay_on is None
    ]
    merged = (tuple(other for other in waiting if other in bound_to(site, name)) for name in waiting)
    return list(dict.fromkeys(merged))


class _Search:
    """Tries ways to place items on hosts, depth first, in several orders, up to a number of tries."""

    def __init__(self, site: Site, items: Sequence[Item], hosts: Sequence[Machine]) -> None:
        self.site, self.items = site, items
        self.hosts = list(hosts)
        self.tries = 0
        here = [site.service[name] for name in _names(items, hosts)]
        self.where: list[Where] = [
            (resource, slot)
            for resource in RESOURCES
            for slot in range(max((len(getattr(item.demand, resource)) for item in here), default=1))
        ]
        self.takes = {item: self._takes(item) for item in items}
        self.used = [[load(site, host, *where) for where in self.where] for host in hosts]
        self.limits = [[limit(site, host, resource) for resource, _ in self.where] for host in hosts]

    def packs(self) -> bool:
        """Say whether some way was found; ``tries`` over ``MOST_TRIES`` where not all ways were tried."""
        orders = list(dict.fromkeys(self._ordered(resource) for resource in ("memory_gib", *INSTALLED)))
        for order, most in [*((order, QUICK_TRIES) for order in orders), (orders[0], MOST_TRIES)]:
            self.tries = 0
            if self._place(order, most):
                return True
            if self.tries <= most:
                break
        return False

    def _ordered(self, resource: str) -> tuple[Item, ...]:
        """List the items with those first that take most of a resource."""
        return tuple(sorted(self.items, key=lambda item: -max(self._of(resource, item))))

    def _of(self, resource: str, item: Item) -> list[float]:
        return [
            size for size, (name, _) in zip(self.takes[item], self.where, strict=True) if name == resource
        ]

    def _takes(self, item: Item) -> list[float]:
        """Find what an item adds to a host in every resource and hour."""
        if not self.hosts:
            return [0.0 for _ in self.where]
        empty, alone = replace(self.hosts[0], services=()), replace(self.hosts[0], services=item)
        return [load(self.site, alone, *where) - load(self.site, empty, *where) for where in self.where]

    def _place(self, items: Sequence[Item], most: int) -> bool:
        if not items:
            return True
        takes = self.takes[items[0]]
        for index, host in enumerate(self.hosts):
            self.tries += 1
            if self.tries > most:
                return False
            before, fuller = self.used[index], replace(host, services=(*host.services, *items[0]))
            after = [used + size for used, size in zip(before, takes, strict=True)]
            if self._over(after, index) or not _goes(self.site, fuller):
                continue
            self.used[index], self.hosts[index] = after, fuller
            if self._place(items[1:], most):
                return True
            self.used[index], self.hosts[index] = before, host
        return False

    def _over(self, used: list[float], index: int) -> bool:
        return any(exceeds(value, most) for value, most in zip(used, self.limits[index], strict=True))


def _names(items: Sequence[Item], hosts: Sequence[Machine]) -> set[str]:
    carried = {name for host in hosts for name in host.services}
    return carried.union(*items) if items else carried


def _goes(site: Site, machine: Machine) -> bool:
    """Say whether a machine by itself has leave to carry its services."""
    by_itself = Trial(site, State((machine,)))
    return not any(True for rule in (needs, zones, apart) for _ in rule(by_itself))
