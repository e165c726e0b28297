"""Good plans for the plain site, and ways to change a site or a plan a little."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from planner.domain.air import Cooling
from planner.domain.machines import Box, Role
from planner.domain.measures import Measure
from planner.domain.plan import AimResult, Outcome, Plan, aim_value
from planner.domain.rules import Aim
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.ledger import ledger
from tests.kit.sites import plain_site

SPLIT_IN_SUMMER: Mapping[str, frozenset[str]] = {"summer": frozenset({"split-unit"}), "winter": frozenset()}
SITE = plain_site()
Thing = TypeVar("Thing", Box, Service, Measure, Cooling)


def unit(kind: str, number: int, *services: str, circuit: str = "circuit-a") -> Machine:
    """Make a unit of a kind of the plain site that carries services."""
    return Machine(f"{kind}-{number}", SITE.kind[kind].role, circuit, services, kind=kind)


def box(name: str, role: Role, *services: str, circuit: str = "circuit-a") -> Machine:
    """Make a box of the plain site that carries services."""
    return Machine(name, role, circuit, services, box=name)


ALL_ON_HOST = unit("quiet-host", 1, "records-db", "mail", "files")
"""33.5 GiB of 51.2 GiB, 3.85 of 12 reference cores: the plain site's good end."""


def folded(
    *machines: Machine,
    measures: Iterable[str] = (),
    cooling: Mapping[str, frozenset[str]] = SPLIT_IN_SUMMER,
) -> State:
    """Make a state of the plain site: everything on one quiet host unless machines are given."""
    return State(machines or (ALL_ON_HOST,), frozenset(measures), cooling)


def plan_for(site: Site, state: State) -> Plan:
    """Make a plan that is honest about a state: values as they are, proven."""
    book = ledger(site, state)
    results = [(aim, aim_value(site, state, book, aim)) for aim in site.policy.aims]
    return Plan(state, tuple(AimResult(aim, value, value, True) for aim, value in results), Outcome.PROVEN)


def silent(state: State) -> Plan:
    """Make a plan that says nothing about its state."""
    return Plan(state, (), Outcome.STOPPED_WITH_PLAN)


def with_result(aim: Aim, **changes: object) -> Plan:
    """Make the good plan with one aim's result changed."""
    good = plan_for(SITE, folded())
    results = tuple(replace(item, **changes) if item.aim is aim else item for item in good.aims)  # type: ignore[arg-type]
    return replace(good, aims=results)


def with_service(name: str, **changes: object) -> Site:
    """Make the plain site with one service changed."""
    return replace(SITE, services=tuple(_changed(item, name, changes) for item in SITE.services))


def with_box(name: str, **changes: object) -> Site:
    """Make the plain site with one box changed."""
    return replace(SITE, boxes=tuple(_changed(item, name, changes) for item in SITE.boxes))


def with_measure(name: str, **changes: object) -> Site:
    """Make the plain site with one measure changed."""
    return replace(SITE, measures=tuple(_changed(item, name, changes) for item in SITE.measures))


def with_cooling(name: str, **changes: object) -> Site:
    """Make the plain site with one cooling option changed."""
    return replace(SITE, cooling=tuple(_changed(item, name, changes) for item in SITE.cooling))


def with_gpus(taken_gib: float, there_gib: float) -> Site:
    """Give the plain site with GPU memory taken by each of mail and files, and had by every machine, GiB."""
    services = (
        replace(item, demand=replace(item.demand, gpu_memory_gib=(taken_gib,)))
        if item.name in ("mail", "files")
        else item
        for item in SITE.services
    )
    boxes = (replace(item, spec=replace(item.spec, gpu_memory_gib=there_gib)) for item in SITE.boxes)
    kinds = (replace(item, spec=replace(item.spec, gpu_memory_gib=there_gib)) for item in SITE.kinds)
    return replace(SITE, services=tuple(services), boxes=tuple(boxes), kinds=tuple(kinds))


def with_policy(**changes: object) -> Site:
    """Make the plain site with another policy."""
    return replace(SITE, policy=replace(SITE.policy, **changes))  # type: ignore[arg-type]


def _changed(item: Thing, name: str, changes: Mapping[str, object]) -> Thing:
    return replace(item, **changes) if item.name == name else item  # type: ignore[arg-type]


TODAY = state_today(SITE)
