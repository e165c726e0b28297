"""Limits that a step may strain: heat, circuits, rack units and the capacity of machines, in numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from planner import capacity
from planner.domain.machines import Role
from planner.domain.resources import RESOURCES
from planner.domain.site import Site
from planner.domain.state import Machine, State, role_today
from planner.ledger import climate, draw
from planner.ledger.sums import heat_w
from planner.moves.tasks.states import Moment

ROUNDING = 1e-6


def passed_above(limit: float) -> float:
    """Compute the value above which a limit is passed by more than rounding."""
    return limit + ROUNDING * max(1.0, abs(limit))


@dataclass(frozen=True)
class Strain:
    """A limit and what a moment asks of it; ``rule`` is heat, circuit, start, rack or a resource."""

    rule: str
    where: str
    value: float
    limit: float

    @property
    def is_over(self) -> bool:
        """True when the limit is passed by more than rounding."""
        return self.value > passed_above(self.limit)

    @property
    def text(self) -> str:
        """What is strained, in words with numbers."""
        if self.rule == "heat" and math.isinf(self.value):
            return f"nothing carries the room's heat away in {self.where}"
        if self.rule == "heat":
            return f"the room reaches {self.value:.1f} °C in {self.where}, limit {self.limit:.0f} °C"
        if self.rule == "circuit":
            return f"{self.where} carries {self.value:.0f} W, limit {self.limit:.0f} W"
        if self.rule == "start":
            asked = f"{self.where} is asked for {self.value:.0f} W while a machine starts"
            return f"{asked}, its breaker bears {self.limit:.0f} W"
        if self.rule == "rack":
            return f"the rack holds {self.value:.0f} units, limit {self.limit:.0f}"
        amount = RESOURCES[self.rule].amount
        return f"{self.where} is asked for {self.value:.1f} {amount}, has {self.limit:.1f}"


def strains(site: Site, now: Moment, then: State | None = None) -> tuple[Strain, ...]:
    """Compute what a moment asks of every limit, over or not.

    With ``then``, machines that carry nothing but what they carry in that state are left out: they are
    asked for no more than then.
    """
    carried = {} if then is None else {m.name: (m.role, {*m.services}) for m in then.machines}
    return (*_heat(site, now), *_circuits(site, now), *_rack(site, now), *_machines(site, now, carried))


def _heat(site: Site, now: Moment) -> Iterator[Strain]:
    for season in site.seasons:
        warm = heat_w(site, now.state, season)
        try:
            reached = climate.temperature_c(site, season, now.state, warm)
        except ValueError:
            reached = math.inf
        yield Strain("heat", season.name, reached, site.policy.inlet_limit_c)


def _circuits(site: Site, now: Moment) -> Iterator[Strain]:
    for name, load in draw.circuit_loads_w(site, now.state).items():
        yield Strain("circuit", name, load, site.circuit[name].continuous_w)
    for name, load in draw.circuit_starts_w(site, now.state).items():
        yield Strain("start", name, load, site.circuit[name].breaker_w)


def _rack(site: Site, now: Moment) -> Iterator[Strain]:
    if site.room.rack_u is not None:
        yield Strain("rack", "rack", float(now.rack_u), float(site.room.rack_u))


def _machines(site: Site, now: Moment, carried: Mapping[str, tuple[Role, set[str]]]) -> Iterator[Strain]:
    for machine in now.state.machines:
        role, services = carried.get(machine.name, (machine.role, set[str]()))
        if _is_as_today(site, machine) or (role is machine.role and services.issuperset(machine.services)):
            continue
        for resource in RESOURCES:
            most = capacity.limit(site, machine.spec(site), machine.role, resource)
            if math.isfinite(most):
                here = [site.service[name] for name in machine.services]
                taken = capacity.most_needed(site, machine.role, here, resource)
                own = capacity.own(site, machine.role, resource)
                yield Strain(resource, machine.name, taken + own, most)


def _is_as_today(site: Site, machine: Machine) -> bool:
    """Say whether a box carries only what it carries today, in its role of today: that is not judged."""
    if machine.box is None or machine.role is not role_today(site, machine.box):
        return False
    return all(site.service[name].box == machine.box for name in machine.services)


def worse_than(known: dict[tuple[str, str], float], found: tuple[Strain, ...]) -> list[Strain]:
    """Find the strains that are over their limit and over what was known of the same thing."""
    return [
        item
        for item in found
        if item.is_over and item.value > known.get((item.rule, item.where), -math.inf) + ROUNDING
    ]


def known(found: tuple[Strain, ...]) -> dict[tuple[str, str], float]:
    """Look up what is asked of each limit by rule and place, to compare with."""
    return {(item.rule, item.where): item.value for item in found}
