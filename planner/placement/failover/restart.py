"""Where services restart when hosts are lost: each failure is packed, from the site and a state alone.

The hosts that are left keep what they carry. What packs quickly is taken; else a small whole-number
programme decides.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from planner.domain.plan import Restart
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.placement.failover.guests import (
    Grid,
    GuestItem,
    Loss,
    hosts_of,
    keep_rules,
    left_by_hour,
    losses,
    restarting_items,
    tight_rows,
)
from planner.placement.params import PARAMS
from planner.solver import Limits, Program, run
from planner.verify.plan.failover import unshown
from planner.verify.trial import Trial


def planned_restarts(
    site: Site, state: State, *, cancel: threading.Event | None = None
) -> tuple[Restart, ...]:
    """Search, for each loss that is planned for, where services restart; none where no spare is asked for."""
    return restarts(site, state, cancel) if site.policy.spare_hosts else ()


def restarts(site: Site, state: State, cancel: threading.Event | None = None) -> tuple[Restart, ...]:
    """Search, for each loss of as many hosts as are spare (one at least), where services restart."""
    return tuple(_restart(site, state, lost, cancel) for lost in losses(site, state, least=1))


def _restart(site: Site, state: State, lost: Loss, cancel: threading.Event | None) -> Restart:
    items = [item for host in lost for item in restarting_items(site, host)]
    there = packed(site, items, [host for host in hosts_of(state) if host not in lost], cancel=cancel)
    waiting = {name for item in items for name in item.names}
    homes = {name: host for item, host in zip(items, there or (), strict=False) for name in item.names}
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
    """Search for losses not shown to pack, here or to the judge, by names; none where none is asked for."""
    if not site.policy.spare_hosts:
        return ()
    hosts, given = hosts_of(state), limits or Limits()
    deadline = time.monotonic() + min(given.time_s, PARAMS.failover.restart_s)

    def fails(lost: Loss) -> bool:
        others = [host for host in hosts if host not in lost]
        items = [item for host in lost for item in restarting_items(site, host)]
        left = replace(given, time_s=deadline - time.monotonic())
        return packed(site, items, others, left, cancel) is None

    found = tuple(tuple(host.name for host in lost) for lost in losses(site, state) if fails(lost))
    return found or tuple(lost for lost, _ in unshown(Trial(site, state)))


def packed(
    site: Site,
    items: Sequence[GuestItem],
    hosts: Sequence[Machine],
    limits: Limits | None = None,
    cancel: threading.Event | None = None,
) -> tuple[str, ...] | None:
    """Search, by item, for a host to restart on beside what is there; None where that is not shown to go."""
    if not items:
        return ()
    able = [[host for host in hosts if _may_join(site, item, host)] for item in items]
    if not all(able):
        return None
    rooms = {host.name: left_by_hour(site, host) for host in hosts}
    return _greedily(site, items, able, rooms) or _exactly(site, items, able, rooms, limits, cancel)


def _may_join(site: Site, item: GuestItem, host: Machine) -> bool:
    """Say whether an item may join a host by every rule but room."""
    spec = host.spec(site)
    zones = item.zones | {site.service[name].zone for name in host.services}
    if len(zones) > spec.zones or any(service.needs - spec.offers for service in item.services):
        return False
    everyone = item.names.union(host.services)
    return all(len(rule.services & everyone) < 2 or not rule.services & item.names for rule in site.apart)


def _greedily(
    site: Site, items: Sequence[GuestItem], able: Sequence[Sequence[Machine]], rooms: Mapping[str, Grid]
) -> tuple[str, ...] | None:
    """Try some orders of the items, each item on the fullest host that takes it, or on the emptiest."""
    whole = np.maximum(sum(rooms.values()), 1e-9)
    shares = np.array([(item.takes / whole).max(axis=1) for item in items])
    keys = [shares.max(axis=1), shares.sum(axis=1), *shares.T]
    for key, emptiest in product(keys, (False, True)):
        order = sorted(range(len(items)), key=lambda index: (len(able[index]), -key[index], index))
        found = _in_order(site, items, able, dict(rooms), order, emptiest)
        if found is not None:
            return tuple(found[index] for index in range(len(items)))
    return None


def _in_order(
    site: Site,
    items: Sequence[GuestItem],
    able: Sequence[Sequence[Machine]],
    rooms: dict[str, Grid],
    order: Sequence[int],
    emptiest: bool,
) -> dict[int, str] | None:
    joined: dict[str, list[int]] = {}
    found: dict[int, str] = {}
    for index in order:
        item = items[index]
        fits = [
            host
            for host in able[index]
            if (item.takes <= rooms[host.name]).all()
            and _go_together(site, item, [items[other] for other in joined.get(host.name, [])], host)
        ]
        if not fits:
            return None
        measure = [float((item.takes / np.maximum(rooms[host.name], 1e-9)).max()) for host in fits]
        host = fits[int(np.argmin(measure) if emptiest else np.argmax(measure))]
        rooms[host.name] = rooms[host.name] - item.takes
        joined.setdefault(host.name, []).append(index)
        found[index] = host.name
    return found


def _go_together(site: Site, item: GuestItem, others: Sequence[GuestItem], host: Machine) -> bool:
    """Say whether items that restart on one host go together there."""
    names = item.names.union(*(other.names for other in others))
    zones = item.zones.union(*(other.zones for other in others))
    zones |= {site.service[name].zone for name in host.services}
    return len(zones) <= host.spec(site).zones and not any(
        len(rule.services & names) > 1 for rule in site.apart
    )


def _exactly(
    site: Site,
    items: Sequence[GuestItem],
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
        here = [index for index in range(len(items)) if (index, host.name) in goes]
        for number, (sizes, room) in enumerate(tight_rows([items[i].takes for i in here], rooms[host.name])):
            terms = [(goes[i, host.name], size) for i, size in zip(here, sizes, strict=True)]
            program.row(f"room:{host.name}/{number}", program.total(terms) <= room)
        carried = frozenset(site.service[name].zone for name in host.services)
        joining = [(items[i], goes[i, host.name]) for i in here]
        keep_rules(site, program, host, host.name, joining, carried)
    given = limits or Limits()
    small = Limits(min(given.time_s, PARAMS.failover.restart_s), seed=given.seed)
    answer = run(program, program.total([]), small, cancel=cancel)
    if not answer.found:
        return None
    chosen = {index: name for (index, name), v in goes.items() if answer.values[v.name] > 0.5}
    return tuple(chosen[index] for index in range(len(items)))
