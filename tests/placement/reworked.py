"""The same site in another guise: other names, another order, fewer options, tighter limits."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

from planner.domain.measures import ROOM, Measure
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Listener

Thing = TypeVar("Thing")


def shuffled(site: Site, seed: int) -> Site:
    """Make the site with the objects of every sort in another order."""
    rng = random.Random(seed)

    def mixed(things: Sequence[Thing]) -> tuple[Thing, ...]:
        return tuple(rng.sample(things, len(things)))

    return replace(
        site,
        listeners=mixed(site.listeners),
        seasons=mixed(site.seasons),
        supply=replace(site.supply, circuits=mixed(site.supply.circuits)),
        cooling=mixed(site.cooling),
        boxes=mixed(site.boxes),
        services=mixed(site.services),
        gear=mixed(site.gear),
        kinds=mixed(site.kinds),
        measures=mixed(site.measures),
        together=mixed(site.together),
        apart=mixed(site.apart),
        quorums=mixed(site.quorums),
    )


def renamed(site: Site, new: Callable[[str], str]) -> Site:
    """Make the site with every service, box, kind, piece of gear, cooling option and measure renamed."""

    def named(name: str) -> str:
        return name if name == ROOM else new(name)

    def all_of(names: Iterable[str]) -> frozenset[str]:
        return frozenset(named(name) for name in names)

    return replace(
        site,
        boxes=tuple(replace(item, name=named(item.name)) for item in site.boxes),
        kinds=tuple(replace(item, name=named(item.name)) for item in site.kinds),
        gear=tuple(replace(item, name=named(item.name)) for item in site.gear),
        services=tuple(_renamed_service(item, named) for item in site.services),
        cooling=tuple(
            replace(o, name=named(o.name), requires=all_of(o.requires), excludes=all_of(o.excludes))
            for o in site.cooling
        ),
        measures=tuple(
            replace(_renamed_measure(m, named), requires=all_of(m.requires), excludes=all_of(m.excludes))
            for m in site.measures
        ),
        together=tuple(replace(rule, services=all_of(rule.services)) for rule in site.together),
        apart=tuple(replace(rule, services=all_of(rule.services)) for rule in site.apart),
        quorums=tuple(replace(rule, services=all_of(rule.services)) for rule in site.quorums),
    )


def _renamed_service(item: Service, named: Callable[[str], str]) -> Service:
    return replace(
        item,
        name=named(item.name),
        box=named(item.box),
        stay_on=None if item.stay_on is None else named(item.stay_on),
        depends_on=tuple(named(name) for name in item.depends_on),
    )


def _renamed_measure(item: Measure, named: Callable[[str], str]) -> Measure:
    return replace(item, name=named(item.name), target=named(item.target))


def without_kind(site: Site) -> Site:
    """Make the site with its last kind taken from the catalogue."""
    return replace(site, kinds=site.kinds[:-1])


def without_measures(site: Site) -> Site:
    """Make the site with no measure allowed."""
    return replace(site, measures=tuple(replace(item, allowed=False) for item in site.measures))


def without_new_cooling(site: Site) -> Site:
    """Make the site with only the cooling options it owns."""
    owned = {option.name for option in site.cooling if option.owned}
    cooling = tuple(
        replace(o, requires=o.requires - _gone(site, owned)) for o in site.cooling if o.name in owned
    )
    measures = tuple(m for m in site.measures if m.target not in _gone(site, owned))
    return replace(site, cooling=cooling, measures=measures)


def _gone(site: Site, kept: set[str]) -> frozenset[str]:
    return frozenset(option.name for option in site.cooling if option.name not in kept)


def poorer(site: Site) -> Site:
    """Make the site with half the budget, or 1500 where there was no limit."""
    budget = site.policy.budget
    return replace(site, policy=replace(site.policy, budget=1500.0 if budget is None else budget / 2.0))


def cooler(site: Site) -> Site:
    """Make the site with an inlet limit one degree lower."""
    return replace(site, policy=replace(site.policy, inlet_limit_c=site.policy.inlet_limit_c - 1.0))


def stricter(site: Site) -> Site:
    """Make the site with targets 3 dB lower: over them every plan is at least as far as before."""

    def lower(item: Listener) -> Listener:
        return item if item.target_dba is None else replace(item, target_dba=item.target_dba - 3.0)

    return replace(site, listeners=tuple(lower(item) for item in site.listeners))


def weaker_circuits(site: Site) -> Site:
    """Make the site with circuits that carry a tenth less."""
    circuits = tuple(replace(item, continuous_w=item.continuous_w * 0.9) for item in site.supply.circuits)
    return replace(site, supply=replace(site.supply, circuits=circuits))
