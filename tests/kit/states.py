"""Random states of a site: on known machines, but not bound to follow any rule."""

from __future__ import annotations

import random

from planner.domain.measures import ROOM, Measure
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.eligibility import candidates


def random_state(site: Site, seed: int) -> State:
    """Make a state that can be added up: every service once, some measures, cooling in its seasons.

    A CPU may be overloaded and rules broken; measures never clash on a target.
    """
    rng = random.Random(seed)
    machines = _machines(site, rng)
    cooling = {
        season.name: frozenset(
            option.name for option in site.cooling if season.name in option.removal and rng.random() < 0.5
        )
        for season in site.seasons
    }
    there = {ROOM, *(gear.name for gear in site.gear), *(machine.name for machine in machines)}
    there |= frozenset().union(*cooling.values())
    measures: dict[str, Measure] = {}
    for measure in site.measures:
        if measure.target in there and rng.random() < 0.5:
            measures.setdefault(measure.target, measure)
    return State(machines, frozenset(item.name for item in measures.values()), cooling)


def _machines(site: Site, rng: random.Random) -> tuple[Machine, ...]:
    carried: dict[tuple[str, str], list[str]] = {}
    options = candidates(site)
    for service in site.services:
        chosen = rng.choice(options)
        carried.setdefault((chosen.ref, chosen.sort), []).append(service.name)
    found: list[Machine] = []
    for (ref, sort), services in carried.items():
        found.append(_machine(site, rng, ref, sort, tuple(services)))
    return tuple(found)


def _machine(site: Site, rng: random.Random, ref: str, sort: str, services: tuple[str, ...]) -> Machine:
    if sort == "box":
        role = rng.choice([item.role for item in candidates(site) if item.ref == ref])
        return Machine(ref, role, site.box[ref].circuit, services, box=ref)
    circuit = rng.choice(site.supply.circuits).name
    return Machine(f"{ref}-1", site.kind[ref].role, circuit, services, kind=ref)
