"""A site in which a given placement is how things are: only measures and cooling are left to decide.

Bought machines become boxes that stay, services stay where the placement has them, and rules about where
they may run are settled. What the placement breaks already (too warm, too much on a circuit) is not blamed:
nothing may make it worse. So the ladder and the cheapest set play by the same limits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from planner.domain.machines import Box, Circuit, Role
from planner.domain.measures import ROOM, Measure
from planner.domain.plan import outlay
from planner.domain.resources import Demand
from planner.domain.rules import Policy
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.ledger import Ledger, ledger
from planner.ledger.draw import cpu_factor

STAYS = "it is part of the placement"
ROUNDING = 1e-9


class CannotQuietError(ValueError):
    """The placement has no ledger to start from, such as a shut room without a path for its heat."""


def placement(state: State) -> State:
    """Make a state's machines without any measure taken; cooling is still to be chosen."""
    return State(state.machines)


def settled(site: Site, state: State) -> Site:
    """Make the site in which a state's machines are there today, with today's cooling and no measure.

    Raises CannotQuietError when the room of that state never settles.
    """
    start = State(state.machines, cooling=state_today(site).cooling)
    try:
        book = ledger(site, start)
    except ValueError as error:
        raise CannotQuietError(str(error)) from error
    boxes = tuple(_box(site, machine) for machine in state.machines)
    names = {ROOM, *(box.name for box in boxes), *site.cooling_option, *(item.name for item in site.gear)}
    return replace(
        site,
        boxes=boxes,
        services=tuple(_services(site, state)),
        kinds=(),
        measures=tuple(_measures(site, names)),
        together=(),
        apart=(),
        quorums=(),
        slots=1,
        policy=_policy(site, state, book),
        supply=replace(site.supply, circuits=tuple(_circuits(site, book))),
        room=replace(site.room, rack_u=_rack_u(site, book)),
    )


def _box(site: Site, machine: Machine) -> Box:
    known = site.box[machine.box] if machine.box is not None else site.kind[machine.kind or ""]
    return Box(
        name=machine.name,
        spec=replace(known.spec, zones=max(known.spec.zones, 1)),
        circuit=machine.circuit,
        hosts_today=machine.role is Role.HOST,
        stays=STAYS,
        on_ups=known.on_ups,
        assumed=known.assumed,
    )


def _services(site: Site, state: State) -> Iterator[Service]:
    """List one service a machine, which takes what all services on it take in the mean."""
    for machine in state.machines:
        if machine.services:
            used = sum((site.service[name].demand.mean_cpu for name in machine.services), start=0.0)
            most = machine.spec(site).cpu / cpu_factor(site, machine.role) * (1.0 - ROUNDING)
            demand = Demand((min(used, most),))
            yield Service(f"all on {machine.name}", machine.name, demand, stay_on=machine.name)


def _measures(site: Site, names: set[str]) -> Iterator[Measure]:
    """List the measures whose target is there, less those that need one whose target is not."""
    gone = {item.name for item in site.measures if item.target not in names}
    for item in site.measures:
        if item.name not in gone:
            yield replace(item, allowed=item.allowed and not item.requires & gone)


def _policy(site: Site, state: State, book: Ledger) -> Policy:
    warmest_c = max(entry.temperature_c for entry in book.seasons)
    budget = site.policy.budget
    spent = outlay(site, placement(state))
    return replace(
        site.policy,
        headroom={},
        host_memory_gib=0.0,
        guest_memory_gib=0.0,
        budget=None if budget is None else max(0.0, budget - spent),
        inlet_limit_c=max(site.policy.inlet_limit_c, warmest_c + ROUNDING),
        spare_hosts=0,
    )


def _circuits(site: Site, book: Ledger) -> Iterator[Circuit]:
    for item in site.supply.circuits:
        carried_w = book.circuits_w[item.name] * (1.0 + ROUNDING)
        yield replace(item, continuous_w=max(item.continuous_w, carried_w))


def _rack_u(site: Site, book: Ledger) -> int | None:
    return None if site.room.rack_u is None else max(site.room.rack_u, book.rack_u)
