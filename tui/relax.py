"""From a conflict to the form and the field in which the person can let something give way, by its rule."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.machines import Role
from planner.domain.resources import RESOURCES
from planner.domain.site import Site
from planner.inventory.editing import Document
from planner.inventory.text.errors import Path
from planner.report.common.conflicts import figure

LIMITS: Mapping[Rule, tuple[str, Path, Path]] = {
    Rule.BUDGET: ("the budget", ("policy",), ("budget",)),
    Rule.RACK: ("the rack's height", ("room",), ("rack_units",)),
    Rule.CIRCUIT: ("the supply and its circuits", ("supply",), ("circuits",)),
    Rule.HEAT: ("the warmest air allowed", ("policy",), ("inlet_limit",)),
    Rule.SPARE_HOSTS: ("the spare hosts", ("policy",), ("spare_hosts",)),
}
"""Limits of the site: what to call one, its entry in the file and its field."""

GROUPS: Mapping[Rule, tuple[str, ...]] = {
    Rule.APART: ("apart", "together"),
    Rule.QUORUM: ("quorum",),
    Rule.ALONE: ("together",),
    Rule.ZONES: ("together",),
    Rule.CAPACITY: ("together",),
}
"""Rules between services that a conflict may be about."""

OF_SERVICE: Mapping[Rule, tuple[str, Path]] = {
    Rule.PHYSICAL: ("why it stays physical", ("stay_physical",)),
    Rule.STAY_ON: ("the box it stays on", ("stay_on",)),
    Rule.NEEDS: ("what it needs", ("needs",)),
    Rule.ZONES: ("its zone", ("zone",)),
    Rule.OTHER_HOST: ("whether it must restart", ("restart",)),
    Rule.RESTART: ("whether it must restart", ("restart",)),
    Rule.RESIDENTS: ("the box it runs on", ("box",)),
}
OF_MACHINE: Mapping[Rule, tuple[str, Path]] = {
    Rule.NEEDS: ("what it offers", ("offers",)),
    Rule.ZONES: ("the zones it may carry", ("zones",)),
    Rule.UNITS: ("how many may be bought", ("up_to",)),
    Rule.ALONE: ("how many may be bought", ("up_to",)),
    Rule.BUDGET: ("its price", ("price",)),
    Rule.RACK: ("its height", ("rack_units",)),
    Rule.RESIDENTS: ("its use as a host", ("reuse", "price")),
}


@dataclass(frozen=True)
class Way:
    """Something that may give way: what to call it, where it stands, and the field to begin at."""

    label: str
    entry: Path
    field: Path


def ways_out(site: Site, document: Document, conflicts: Iterable[Conflict]) -> list[Way]:
    """Look up what may give way, in the order of the conflicts; only what stands in this file."""
    found = [way for conflict in conflicts for make in MAKERS for way in make(site, document, conflict)]
    there = [way for way in found if len(way.entry) == 1 or document.has(way.entry)]
    first: dict[tuple[Path, Path], Way] = {}
    for way in there:
        first.setdefault((way.entry, way.field), way)
    return list(first.values())


def _limits(site: Site, _: Document, conflict: Conflict) -> Iterator[Way]:
    if conflict.rule in LIMITS:
        label, entry, field = LIMITS[conflict.rule]
        yield Way(f"{label}{_more(conflict)}", entry, field)
    kept = conflict.role is not Role.BARE and conflict.shown is not Shown.IN_ALL
    if conflict.rule is Rule.CAPACITY and kept and site.policy.headroom.get(conflict.resource):
        yield Way("the headroom kept free", ("policy",), ("headroom", RESOURCES[conflict.resource].key))


def _more(conflict: Conflict) -> str:
    """Say by how much a limit would have to give way, where that is known to be enough."""
    is_sum = conflict.shown is Shown.REPAIR and conflict.rule in (Rule.BUDGET, Rule.RACK, Rule.CIRCUIT)
    return f", {figure(conflict.amount)} {conflict.unit} more" if is_sum else ""


def _groups(_: Site, document: Document, conflict: Conflict) -> Iterator[Way]:
    for word in GROUPS.get(conflict.rule, ()):
        for index, rule in enumerate(document.get(("rules", word)) or []):
            services = [str(name) for name in rule.get("services", [])]
            least = 1 if word == "quorum" else 2
            if len({*services} & {*conflict.subject, *_members(conflict)}) >= least:
                label = f"the rule {word}: {', '.join(services)}"
                yield Way(label, ("rules", word, index), ("services",))


def _members(conflict: Conflict) -> tuple[str, ...]:
    return conflict.others if conflict.rule is Rule.QUORUM else ()


def _services(_: Site, __: Document, conflict: Conflict) -> Iterator[Way]:
    label, field = OF_SERVICE.get(conflict.rule, ("", ()))
    if conflict.rule is Rule.CAPACITY:
        key = RESOURCES[conflict.resource].key
        label, field = f"its {key}", (key,)
    is_zone = conflict.rule is Rule.CAPACITY and conflict.shown is Shown.AFTER_LOSS
    for name in conflict.subject if field and not is_zone else ():
        yield Way(f"{name}: {label}", ("services", name), field)


def _machines(site: Site, _: Document, conflict: Conflict) -> Iterator[Way]:
    label, field = OF_MACHINE.get(conflict.rule, ("", ()))
    if conflict.rule is Rule.CAPACITY:
        resource = RESOURCES[conflict.resource]
        label, field = "what it has", ("cores" if resource.allotted else resource.key,)
    here = () if conflict.place is None else (conflict.place,)
    if conflict.rule is Rule.CAPACITY and conflict.shown is Shown.IN_ALL:
        for kind in site.kinds:
            yield Way(f"{kind.name}: how many may be bought", ("catalogue", kind.name), ("up_to",))
    for place in (*here, *conflict.lost) if field else ():
        if place.entry in site.kind:
            yield Way(f"{place.entry}: {label}", ("catalogue", place.entry), field)
        elif place.entry in site.box and conflict.rule not in (Rule.UNITS, Rule.ALONE):
            path = ("reuse", "price") if conflict.rule is Rule.BUDGET else field
            yield Way(f"{place.entry}: {label}", ("boxes", place.entry), path)


def _measures(site: Site, _: Document, conflict: Conflict) -> Iterator[Way]:
    if conflict.rule is Rule.MEASURES and conflict.place is not None:
        for measure in site.measures:
            if measure.target == conflict.place.entry and measure.allowed:
                yield Way(f"{measure.name}: whether it is allowed", ("measures", measure.name), ("allowed",))
    for name in conflict.subject if conflict.rule is Rule.EXCLUDES else ():
        section = "measures" if name in site.measure else "cooling"
        yield Way(f"{name}: what cannot go with it", (section, name), ("excludes",))


Maker = Callable[[Site, Document, Conflict], Iterator[Way]]
MAKERS: tuple[Maker, ...] = (_limits, _groups, _services, _machines, _measures)
