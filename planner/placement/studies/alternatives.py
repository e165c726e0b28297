"""What alternatives to a plan decide otherwise, and by how much they may be worse, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from planner.domain.machines import Role
from planner.domain.plan import Fate, Plan, fate
from planner.domain.site import Site
from planner.domain.state import State


class Sort(StrEnum):
    """What a plan decides, sorted by what a person asks about."""

    BOUGHT = "what is bought"
    BOXES = "which boxes stay on"
    PHYSICAL = "what stays physical"
    COOLING = "what cools"


@dataclass(frozen=True)
class Margins:
    """How much worse an alternative may be: dB, and shares of watts and of money."""

    sound_db: float = 0.0
    power: float = 0.05
    cost: float = 0.10


@dataclass(frozen=True)
class Alternative:
    """A plan that decides otherwise in ``sort`` than all before it, and the best of those.

    Its changes are counted from the plan it is an alternative to.
    """

    sort: Sort
    plan: Plan


@dataclass(frozen=True)
class Alternatives:
    """Alternatives in the order found; ``none_left``: sorts in which it is proven that there is no other."""

    margins: Margins
    found: tuple[Alternative, ...]
    none_left: tuple[Sort, ...] = ()
    stopped_by: str = ""


class Decided(NamedTuple):
    """What is decided about: a name of the site; ``reused``: a box, and whether it becomes a host."""

    name: str
    reused: bool = False


Decisions = Mapping[Decided, int]
"""Counts by what they are of: units, or 1 for yes and 0 for no."""


def decisions(site: Site, state: State, sort: Sort) -> Decisions:
    """Compute what a state decides in a sort."""
    running = frozenset[str]().union(*state.cooling.values())
    if sort is Sort.COOLING:
        return {Decided(option.name): int(option.name in running) for option in site.cooling}
    if sort is Sort.BOXES:
        on = {machine.box for machine in state.machines}
        return {Decided(box.name): int(box.name in on) for box in site.boxes}
    if sort is Sort.PHYSICAL:
        guests = {name for item in state.machines if item.role is Role.HOST for name in item.services}
        return {Decided(service.name): int(service.name not in guests) for service in site.services}
    counts = {Decided(k.name): sum(item.kind == k.name for item in state.machines) for k in site.kinds}
    reused = {Decided(b.name, reused=True): int(fate(site, state, b.name) is Fate.REUSE) for b in site.boxes}
    cooling = {Decided(item.name): int(item.name in running) for item in site.cooling if not item.owned}
    return {**counts, **reused, **cooling}
