"""The slots of a problem: what may be switched on, machine by machine or as pools of alike units.

Boxes are alike that are so for every rule and figure: equivalence classes of what re-using one means. They
are counted, as units of a kind are: watts, sound, money, circuits and changes depend on how many of them are
hosts. Which of them a plan names is chosen afterwards (`packing.reuse_matching`). What tells a box apart: its
data, a measure on it, a service that stays on it, and what an earlier plan did with it, where changes are
counted from one.

Why so: a service is on its own box or in the pool, not on each of 150 hosts. A row a circuit keeps hosts
and boxes left as they are to as many as there are. Only changes counted from a plan with such hosts tell
the boxes apart: then they are written one by one, up to a size; above it, the count within the pool is a
bound.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import count, islice

from planner import eligibility
from planner.domain.conflict import Place
from planner.domain.machines import Box, Role, Spec
from planner.domain.plan import Fate, fate
from planner.domain.site import Site
from planner.domain.state import Machine, State, role_today, unit_names

AS_HOST, ALIKE = "as host", "alike"

Keys = Mapping[tuple[str, str], str]
"""By a name of the site and what of it is meant, the key of a slot."""


@dataclass(frozen=True)
class Alike:
    """Boxes of which it does not matter which one is re-used; ``first`` is a sample of them.

    ``were_hosts``: an earlier plan re-used them, so it does matter for the changes counted from it.
    """

    boxes: tuple[str, ...]
    were_hosts: bool = False

    @property
    def first(self) -> str:
        """The first of them, in the site's order."""
        return self.boxes[0]

    @property
    def name(self) -> str:
        """What a person reads of them."""
        return f"box like {self.first}"


def alike_boxes(site: Site, previous: State | None = None) -> tuple[Alike, ...]:
    """Find the boxes that may be re-used and have others like them; ``previous``: an earlier plan."""
    told_apart = {service.stay_on for service in site.services} | {item.target for item in site.measures}
    found: dict[tuple[Box, Fate | None], list[str]] = {}
    for box in site.boxes:
        if box.may_host and not box.hosts_today and box.stays is None and box.name not in told_apart:
            before = None if previous is None else fate(site, previous, box.name)
            found.setdefault((_all_but_names(box), before), []).append(box.name)
    return tuple(
        Alike(tuple(names), were_hosts=before is Fate.REUSE)
        for (_, before), names in found.items()
        if len(names) > 1
    )


def _all_but_names(box: Box) -> Box:
    """Compute what counts of a box: not its name, and circuits are counted one by one."""
    return replace(box, name="", circuit="", assumed=frozenset())


@dataclass(frozen=True)
class Slot:
    """A machine that may be on: a box in one role, one unit of a kind, or a pool of ``units`` alike.

    A pool counts how many of its units are on and which items go there, not which item on which unit;
    packing decides that afterwards. ``zone`` limits a pool of one-zone hosts to the items of a zone.
    ``pool`` names the pool, '' where there is none; ``alike`` are the boxes of a pool of boxes to re-use.
    """

    name: str
    key: str
    candidate: eligibility.Candidate
    spec: Spec
    on_ups: bool
    circuits: tuple[str, ...]
    units: int = 1
    zone: str | None = None
    must_carry: bool = True
    pool: str = ""
    alike: Alike | None = None

    @property
    def is_host(self) -> bool:
        """True when it carries virtual machines."""
        return self.candidate.role is Role.HOST

    @property
    def is_box(self) -> bool:
        """True when it is there today."""
        return self.candidate.sort == "box"

    @property
    def box(self) -> str | None:
        """The box that it is; None for units of a kind, and where it is one of several alike."""
        return self.candidate.ref if self.is_box and self.alike is None else None

    @property
    def place(self) -> Place:
        """The machine as the place of a conflict."""
        name = self.name if self.alike is None else self.alike.first
        return Place(name, self.candidate.ref, is_any=self.units > 1)

    def is_one_of(self, machine: Machine) -> bool:
        """Say whether a machine is one that this slot may be, whatever its zone."""
        refs = self.alike.boxes if self.alike is not None else (self.candidate.ref,)
        return (machine.box or machine.kind) in refs and machine.role is self.candidate.role


def build_slots(site: Site, items: int, single: frozenset[str], alike: tuple[Alike, ...]) -> Iterator[Slot]:
    """Build every slot that a number of items may use; what is in ``single`` is written out unit by unit."""
    keys = slot_keys(site)
    pooled = {
        name: boxes for boxes in alike if keys[boxes.first, ALIKE] not in single for name in boxes.boxes
    }
    for candidate in eligibility.candidates(site):
        if candidate.sort == "kind":
            yield from _kind_slots(site, candidate, items, candidate.ref in single, keys)
            continue
        box = site.box[candidate.ref]
        if candidate.role is role_today(site, box.name):
            must = box.stays is None
            yield Slot(box.name, box.name, candidate, box.spec, box.on_ups, (box.circuit,), must_carry=must)
        elif box.name not in pooled:
            key, must = keys[box.name, AS_HOST], box.stays is None
            yield Slot(box.name, key, candidate, box.spec, box.on_ups, (box.circuit,), must_carry=must)
        elif box.name == pooled[box.name].first:
            yield from _alike_slots(site, candidate, items, pooled[box.name], keys)


def pools_of_boxes(site: Site, previous: State | None = None) -> frozenset[str]:
    """List the names of all pools of alike boxes there are."""
    keys = slot_keys(site)
    return frozenset(keys[boxes.first, ALIKE] for boxes in alike_boxes(site, previous))


def _alike_slots(
    site: Site, candidate: eligibility.Candidate, items: int, alike: Alike, keys: Keys
) -> Iterator[Slot]:
    """Build the pool of alike boxes, as hosts of one zone once for each zone."""
    box, pool = site.box[alike.first], keys[alike.first, ALIKE]
    there = {site.box[name].circuit for name in alike.boxes}
    circuits = tuple(circuit.name for circuit in site.supply.circuits if circuit.name in there)
    most = min(len(alike.boxes), items)
    zones = (None,) if box.spec.zones > 1 else tuple(sorted({service.zone for service in site.services}))
    for zone in zones:
        key = pool if zone is None else keys[alike.first, f"{ALIKE} in {zone}"]
        yield Slot(
            alike.name, key, candidate, box.spec, box.on_ups, circuits, most, zone, pool=pool, alike=alike
        )


def slot_keys(site: Site) -> Keys:
    """Build the keys of boxes re-used as hosts, and of pools by zone: their own, whatever else has a name.

    They are made from the site alone, so that a key means the same slot in every model of it.
    """
    zones = sorted({service.zone for service in site.services})
    wanted: dict[tuple[str, str], str] = {}
    for name in (box.name for box in site.boxes if box.may_host):
        wanted[name, AS_HOST] = f"{name}@host"
        wanted[name, ALIKE] = f"boxes like {name}"
        wanted |= {(name, f"{ALIKE} in {zone}"): f"boxes like {name}/{zone}" for zone in zones}
    wanted |= {(kind.name, zone): f"{kind.name}/{zone}" for kind in site.kinds for zone in zones}
    found: dict[tuple[str, str], str] = {}
    used = set(site.names)
    for what, key in wanted.items():
        each_in_turn = (key + "'" * times for times in count())
        own = next(each for each in each_in_turn if each not in used and not _names_a_unit(site, each))
        used.add(own)
        found[what] = own
    return found


def _names_a_unit(site: Site, text: str) -> bool:
    kind, _, number = text.rpartition("-")
    return kind in site.kind and number.isdigit()


def _kind_slots(
    site: Site, candidate: eligibility.Candidate, items: int, single: bool, keys: Keys
) -> Iterator[Slot]:
    kind = site.kind[candidate.ref]
    circuits = tuple(circuit.name for circuit in site.supply.circuits)
    most, pool = min(kind.max_units, items), kind.name
    if single:
        for name in islice(unit_names(site, kind.name), most):
            yield Slot(name, name, candidate, kind.spec, kind.on_ups, circuits)
    elif kind.role is not Role.HOST or kind.spec.zones > 1:
        yield Slot(pool, pool, candidate, kind.spec, kind.on_ups, circuits, most, pool=pool)
    else:
        for zone in sorted({service.zone for service in site.services}):
            key = keys[kind.name, zone]
            yield Slot(pool, key, candidate, kind.spec, kind.on_ups, circuits, most, zone, pool=pool)
