"""The limits of every window as rows: rack, circuits, heat by season, machines that mix old and new."""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass, replace

from planner import capacity
from planner.domain.conflict import Conflict, Place, Rule, Shown
from planner.domain.machines import Circuit
from planner.domain.order import Sort
from planner.domain.resources import RESOURCES
from planner.domain.state import Machine
from planner.ledger import draw
from planner.moves.figures.machine_presence import When
from planner.moves.figures.polynomials import Poly, number, total
from planner.moves.figures.room_figures import Figures, mixing_hosts
from planner.moves.tasks.states import state_at
from planner.moves.tasks.work_packages import Work
from planner.physics.power import START_SHARE


@dataclass(frozen=True)
class Limit:
    """A figure that must stay at or under a number; ``about``: the conflict where it does not."""

    about: Conflict
    figure: Poly
    most: float


def limits(figures: Figures, work: Work) -> Iterator[Limit]:
    """List the limits of a change; one that is passed now or in the target is held where it then is."""

    def held(figure: Poly, most: float) -> float:
        def value(done: Set[str]) -> float:
            return figure.value(lambda literal: literal.name in done)

        return max(most, value(work.past), value(work.tasks.keys()))

    site = figures.site
    if site.room.rack_u is not None:
        rack = figures.rack()
        yield Limit(_about(Rule.RACK, "rack units"), rack, held(rack, site.room.rack_u))
    for circuit in site.supply.circuits:
        drawn = figures.circuit(circuit.name)
        most_w = held(drawn, circuit.continuous_w)
        yield Limit(_about(Rule.CIRCUIT, "W", circuit.name), drawn, most_w)
        yield from _starts(figures, work, circuit, drawn, most_w)
    for season in site.seasons:
        over = figures.heat(season)
        yield Limit(_about(Rule.HEAT, "W", season.name), over, held(over, 0.0))
    for machine in mixing_hosts(figures.change):
        yield from _capacity(figures, machine)


def _about(rule: Rule, unit: str, place: str = "") -> Conflict:
    where = Place(place, place) if place else None
    return Conflict(rule, place=where, unit=unit, shown=Shown.ON_THE_WAY)


def _starts(figures: Figures, work: Work, circuit: Circuit, drawn: Poly, most_w: float) -> Iterator[Limit]:
    """List the limit of each machine whose start is too much beside all that the circuit may carry."""
    site, change = figures.site, work.change
    states = (state_at(change, work.past), change.target)
    bears_w = max(circuit.breaker_w, *(draw.circuit_starts_w(site, state)[circuit.name] for state in states))
    starting: dict[str, list[Poly]] = {}
    for here in figures.presences:
        more_w = (START_SHARE - 1.0) * draw.machine_peak_w(site, here.machine, ())
        if here.machine.circuit == circuit.name and most_w + more_w > bears_w:
            starting.setdefault(here.machine.name, []).append(here.on.times(more_w))
    for name, parts in starting.items():
        about = replace(_about(Rule.START, "W", circuit.name), subject=(name,))
        yield Limit(about, total([drawn, *parts]), bears_w)


def _capacity(figures: Figures, machine: Machine) -> Iterator[Limit]:
    site, place = figures.site, Place(machine.name, machine.box or machine.kind or machine.name)
    for resource in RESOURCES:
        most = capacity.limit(site, machine.spec(site), machine.role, resource)
        slots = {
            tuple(site.service[name].demand.at(resource, slot) for name in _ever_on(figures, machine)): slot
            for slot in range(site.slots)
        }
        for slot in sorted(slots.values()):
            about = Conflict(
                Rule.CAPACITY,
                place=place,
                resource=resource,
                hour=slot,
                unit=RESOURCES[resource].unit,
                shown=Shown.ON_THE_WAY,
                role=machine.role,
            )
            yield Limit(about, _load(figures, machine, resource, slot), most)


def _ever_on(figures: Figures, machine: Machine) -> tuple[str, ...]:
    return (*machine.services, *figures.change.leavers(machine.name))


def _load(figures: Figures, machine: Machine, resource: str, slot: int) -> Poly:
    """Build a machine's load: what stays, what has come, and what has not been let go of yet."""
    change, site = figures.change, figures.site

    def takes(name: str) -> float:
        return capacity.needed(site, machine.role, [[site.service[name]]], resource, slot)[0]

    parts = [number(capacity.own(site, machine.role, resource))]
    for name in machine.services:
        when = figures.moments.done(Sort.MOVE, name) if name in change.moved else number(1.0)
        parts.append(when.times(takes(name)))
    for name in change.leavers(machine.name):
        parts.append(figures.moments.until(Sort.MOVE, name).times(takes(name)))
    return total(parts)


def list_all_limits(work: Work) -> list[tuple[When, Limit]]:
    """List every limit of a wave, in its crest, once settled and at its end."""
    return [
        (when, limit) for when in When for limit in limits(Figures(work.change, when, work.late_tasks), work)
    ]
