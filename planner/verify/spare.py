"""Whether the services of any one lost host find room on the hosts that are left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from planner.site import RESOURCES, Role, Site
from planner.state import Machine, State
from planner.verify.capacity import limit, load
from planner.verify.machines import bound_to
from planner.verify.services import apart, needs, zones
from planner.verify.trial import Finding, Trial, exceeds, listed

MOST_TRIES = 5_000
"""Placings tried for one lost host; what is not shown by then is not believed."""


def spare(trial: Trial) -> Iterator[Finding]:
    """With a spare host asked for, the loss of any one leaves room for its services that must restart.

    The others stay where they are. A service tied to the lost box is an accepted loss. Not asked on the way.
    """
    if trial.moving or not trial.site.policy.spare_hosts:
        return
    hosts = [machine for machine in trial.state.machines if machine.role is Role.HOST]
    for lost in hosts:
        left = tuple(machine for machine in hosts if machine is not lost)
        items = _to_restart(trial.site, lost)
        search = _Search(trial.site)
        if not search.packs(items, left):
            names = listed({name for item in items for name in item})
            why = "it is not shown that" if search.tries > MOST_TRIES else "there is no way in which"
            yield lost.name, f"if {lost.name} is lost, {why} the hosts that are left can carry {names}"


def _to_restart(site: Site, lost: Machine) -> list[tuple[str, ...]]:
    """Give what must find a new host, services that must be together as one, the largest memory first."""
    waiting = [
        name for name in lost.services if site.service[name].restart and site.service[name].stay_on is None
    ]
    merged = (tuple(other for other in waiting if other in bound_to(site, name)) for name in waiting)
    return sorted(dict.fromkeys(merged), key=lambda item: -_memory_gib(site, item))


def _memory_gib(site: Site, item: tuple[str, ...]) -> float:
    return sum((max(site.service[name].demand.memory_gib) for name in item), start=0.0)


class _Search:
    """Tries every way to place items on hosts, depth first, up to a number of tries."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.tries = 0

    def packs(self, items: list[tuple[str, ...]], hosts: tuple[Machine, ...]) -> bool:
        if not items:
            return True
        for index, host in enumerate(hosts):
            self.tries += 1
            if self.tries > MOST_TRIES:
                return False
            fuller = replace(host, services=(*host.services, *items[0]))
            rest = (*hosts[:index], fuller, *hosts[index + 1 :])
            if _holds(self.site, fuller) and self.packs(items[1:], rest):
                return True
        return False


def _holds(site: Site, machine: Machine) -> bool:
    """Say whether a machine by itself has the room and the leave to carry its services."""
    by_itself = Trial(site, State((machine,)))
    if any(True for rule in (needs, zones, apart) for _ in rule(by_itself)):
        return False
    return not any(
        exceeds(load(site, machine, resource, slot), limit(site, machine, resource))
        for resource in RESOURCES
        for slot in range(site.slots)
    )
