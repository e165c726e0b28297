"""Share guests out anew among alike units so that the loss of any hosts that are spare packs.

Watts, sound and money do not change by it: units of a kind are alike, and so are some boxes. Small states
are settled by one whole-number programme over who is where and who restarts where.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pulp

from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.eligibility import groups
from planner.placement.failover.guests import (
    GuestItem,
    Loss,
    hosts_of,
    keep_rules,
    losses,
    needed_by_hour,
    restarting_items,
    tight_rows,
    usable_by_resource,
)
from planner.placement.params import PARAMS
from planner.solver import Limits, Program, run

Place = dict[tuple[int, str], pulp.LpVariable]


@dataclass(frozen=True)
class _Guest:
    """Services placed as one, where they may be now, and what of them restarts."""

    whole: GuestItem
    restart: GuestItem | None
    now: tuple[Machine, ...]


def rebalance(
    site: Site,
    state: State,
    limits: Limits,
    cancel: threading.Event | None = None,
    alike: Sequence[frozenset[str]] = (),
) -> State | None:
    """Search for a state of the same machines whose every failure packs; None where none is found.

    ``alike``: sets of boxes between which guests may change, as between units of a kind.
    """
    hosts = hosts_of(state)
    mates = _mates(hosts, alike)
    guests = _guests(site, hosts, mates)
    places = sum(len(guest.now) for guest in guests)
    lost = list(losses(site, state))
    if len(hosts) < 2 or places * len(lost) * site.slots**0.5 > PARAMS.failover.rebalance_choices:
        return None
    program = Program()
    place = {
        (index, host.name): program.binary(f"{index}@{host.name}")
        for index, guest in enumerate(guests)
        for host in guest.now
    }
    _now(site, program, hosts, guests, place, mates)
    for loss in lost:
        _after(site, program, loss, hosts, guests, place)
    given = replace(limits, time_s=min(limits.time_s, PARAMS.failover.rebalance_s), relative_gap=0.0)
    answer = run(program, program.total([]), given, cancel=cancel)
    if not answer.found:
        return None
    homes = {
        name: host
        for (index, host), variable in place.items()
        if answer.values[variable.name] > 0.5
        for name in guests[index].whole.names
    }
    return _moved(site, state, homes)


def _mates(hosts: Sequence[Machine], alike: Sequence[frozenset[str]]) -> dict[str, tuple[Machine, ...]]:
    """Look up, by host, those that it may change guests with: units of its kind, or boxes like it."""
    found = {}
    for host in hosts:
        boxes = next((names for names in alike if host.box in names), frozenset[str]())
        mates = [
            other
            for other in hosts
            if other is host or (other.box in boxes if host.box is not None else other.kind == host.kind)
        ]
        if host.kind is not None or boxes:
            found[host.name] = tuple(mates)
    return found


def _guests(site: Site, hosts: Sequence[Machine], mates: Mapping[str, tuple[Machine, ...]]) -> list[_Guest]:
    """List every group of guests: on a box that is like no other it stays."""
    found = []
    for names in groups(site):
        home = next((host for host in hosts if names[0] in host.services), None)
        if home is None:
            continue
        items = restarting_items(site, replace(home, services=names))
        whole = GuestItem(tuple(site.service[name] for name in names), needed_by_hour(site, names))
        found.append(_Guest(whole, items[0] if items else None, mates.get(home.name, (home,))))
    return found


def _here(guests: Sequence[_Guest], place: Place, host: Machine) -> list[tuple[GuestItem, pulp.LpVariable]]:
    return [(guest.whole, place[index, host.name]) for index, guest in enumerate(guests) if host in guest.now]


def _room(
    site: Site, program: Program, name: str, host: Machine, here: Sequence[tuple[GuestItem, pulp.LpVariable]]
) -> None:
    for number, (sizes, room) in enumerate(
        tight_rows([item.takes for item, _ in here], usable_by_resource(site, host))
    ):
        terms = [(variable, size) for (_, variable), size in zip(here, sizes, strict=True)]
        program.row(f"{name}/{number}", program.total(terms) <= room)


def _now(
    site: Site,
    program: Program,
    hosts: Sequence[Machine],
    guests: Sequence[_Guest],
    place: Place,
    mates: Mapping[str, tuple[Machine, ...]],
) -> None:
    """Everyone is somewhere, every host that may change guests carries something, and each host holds."""
    for index, guest in enumerate(guests):
        row = program.total([(place[index, host.name], 1.0) for host in guest.now]) == 1
        program.row(f"once:{index}", row)
    for host in hosts:
        here = _here(guests, place, host)
        if host.name in mates:
            program.row(f"used:{host.name}", program.total([(v, 1.0) for _, v in here]) >= 1)
        _room(site, program, f"room:{host.name}", host, here)
        keep_rules(site, program, host, f"{host.name} now", here)


def _after(
    site: Site,
    program: Program,
    lost: Loss,
    hosts: Sequence[Machine],
    guests: Sequence[_Guest],
    place: Place,
) -> None:
    """What restarts after a loss has a host of those that are left, beside what is there."""
    called = "+".join(host.name for host in lost)
    waiting = [(i, g.restart) for i, g in enumerate(guests) if g.restart is not None and {*lost} & {*g.now}]
    left = [host for host in hosts if host not in lost]
    goes: Place = {}
    for index, item in waiting:
        for host in left:
            if all(service.needs <= host.spec(site).offers for service in item.services):
                goes[index, host.name] = program.binary(f"{called}:{index}>{host.name}")
        there = [(v, 1.0) for (other, _), v in goes.items() if other == index]
        gone = [(place[index, host.name], -1.0) for host in lost if (index, host.name) in place]
        program.row(f"{called} lost:{index}", program.total([*there, *gone]) >= 0)
    for host in left:
        joining = [(item, goes[i, host.name]) for i, item in waiting if (i, host.name) in goes]
        if joining:
            here = [*_here(guests, place, host), *joining]
            _room(site, program, f"{called} lost:{host.name}", host, here)
            keep_rules(site, program, host, f"{host.name}, {called} lost", here)


def _moved(site: Site, state: State, homes: dict[str, str]) -> State:
    """Build the state with services at home; units of a kind named in the order of what they carry."""
    order = {service.name: index for index, service in enumerate(site.services)}
    carried: dict[str, tuple[str, ...]] = {}
    for machine in state.machines:
        stay = [name for name in machine.services if name not in homes]
        mine = [*stay, *(name for name, home in homes.items() if home == machine.name)]
        carried[machine.name] = tuple(sorted(mine, key=order.__getitem__))
    for kind in site.kinds:
        names = [machine.name for machine in state.machines if machine.kind == kind.name]
        ranked = sorted((carried[name] for name in names), key=lambda mine: [order[name] for name in mine])
        carried.update(zip(names, ranked, strict=True))
    return replace(state, machines=tuple(replace(m, services=carried[m.name]) for m in state.machines))
