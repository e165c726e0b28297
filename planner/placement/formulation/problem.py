"""The planning problem as data: items to place, slots to place them in, modes of sources, room variants.

Everything the formulation needs is computed here once from the site, with the ledger's own functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, combinations

from planner import capacity, eligibility
from planner.domain.air import Season
from planner.domain.conflict import Conflict, Place, Rule, Shown
from planner.domain.machines import Role
from planner.domain.measures import ROOM, Measure
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.formulation.slots import Slot, alike_boxes, build_slots
from planner.placement.params import PARAMS
from planner.placement.result import TooManyVariantsError

Loss = tuple[str, ...]
"""Keys of the host slots that are lost at once."""


@dataclass(frozen=True)
class Item:
    """Services that share a machine (one, or a together-group), placed as one."""

    index: int
    services: tuple[Service, ...]

    @property
    def name(self) -> str:
        """The services' names."""
        return "+".join(self.names)

    @property
    def names(self) -> tuple[str, ...]:
        """The services' names, one by one."""
        return tuple(service.name for service in self.services)

    @cached_property
    def mean_cpu(self) -> float:
        """Mean CPU use in reference cores."""
        return math.fsum(service.demand.mean_cpu for service in self.services)


Fits = dict[tuple[int, eligibility.Candidate], bool]
"""By item and machine whether nothing forbids the one on the other, as far as it was looked at."""


@dataclass(frozen=True)
class Mode:
    """A set of measures taken together on one source."""

    index: int
    measures: frozenset[str]


@dataclass(frozen=True)
class Problem:
    """A site made ready for the formulation."""

    site: Site
    items: tuple[Item, ...]
    slots: tuple[Slot, ...]
    allowed: frozenset[tuple[int, str]]
    variants: tuple[frozenset[str], ...]
    inlet_bands_c: tuple[float, ...]
    squeeze: float = 0.0
    lost: frozenset[Loss] = frozenset()

    def needed(self, slot: Slot, items: Iterable[Item], resource: str, hour: int) -> list[float]:
        """Compute what each item takes of a slot in an hour, its guests' overhead included."""
        groups = (item.services for item in items)
        return capacity.needed(self.site, slot.candidate.role, groups, resource, hour)

    def usable(self, slot: Slot, resource: str) -> float:
        """Compute what one unit of a slot has for items; inf where nothing limits."""
        return capacity.usable(self.site, slot.spec, slot.candidate.role, resource)

    def slots_of(self, item: Item) -> tuple[Slot, ...]:
        """Look up the slots an item may go to."""
        return self._slots_by_item[item.index]

    def items_of(self, slot: Slot) -> tuple[Item, ...]:
        """Look up the items that may go to a slot."""
        return self._items_by_slot[slot.key]

    @cached_property
    def slots_by_machine(self) -> Mapping[tuple[str, Role], tuple[Slot, ...]]:
        """Slots by the box or kind that they are or may be, and its role."""
        found: dict[tuple[str, Role], tuple[Slot, ...]] = {}
        for slot in self.slots:
            for ref in slot.alike.boxes if slot.alike is not None else (slot.candidate.ref,):
                found[ref, slot.candidate.role] = (*found.get((ref, slot.candidate.role), ()), slot)
        return found

    @cached_property
    def pools_of_boxes(self) -> Mapping[str, tuple[Slot, ...]]:
        """The slots of each pool of alike boxes, one for each zone where a host carries but one."""
        found: dict[str, tuple[Slot, ...]] = {}
        for slot in self.slots:
            if slot.alike is not None:
                found[slot.pool] = (*found.get(slot.pool, ()), slot)
        return found

    @cached_property
    def _slots_by_item(self) -> dict[int, tuple[Slot, ...]]:
        allowed = self.allowed
        return {i.index: tuple(s for s in self.slots if (i.index, s.key) in allowed) for i in self.items}

    @cached_property
    def _items_by_slot(self) -> dict[str, tuple[Item, ...]]:
        allowed = self.allowed
        return {s.key: tuple(i for i in self.items if (i.index, s.key) in allowed) for s in self.slots}

    def bands_c(self, season: Season) -> tuple[float, ...]:
        """Look up the inlet temperature bands of a season: only the limit where nobody listens."""
        return self.inlet_bands_c if season.quiet else self.inlet_bands_c[-1:]

    def modes(self, target: str) -> tuple[Mode, ...]:
        """List the sets of measures that may be taken together on a source; the first is the empty one."""
        return tuple(Mode(index, names) for index, names in enumerate(measure_sets(self.site, target)))


def prepare(
    site: Site,
    single: frozenset[str] = frozenset(),
    squeeze: float = 0.0,
    lost: frozenset[Loss] = frozenset(),
    fits: Fits | None = None,
    previous: State | None = None,
) -> Problem:
    """Make a site ready for the formulation; kinds and alike boxes are pooled but for pools in ``single``.

    ``squeeze`` is a share of pooled hosts' capacity left out, so that what a pool holds packs more easily.
    ``lost``: losses written out whole, where spare hosts are asked for. ``fits``: what is known of the site
    already, which is added to. ``previous``: the state from which changes are counted instead of from today.
    Raises TooManyVariantsError when the measures allow too many combinations.
    """
    items = tuple(
        Item(index, tuple(site.service[name] for name in group))
        for index, group in enumerate(eligibility.groups(site))
    )
    slots = tuple(build_slots(site, len(items), single, alike_boxes(site, previous)))
    allowed = _allowed(site, items, slots, {} if fits is None else fits)
    return Problem(
        site, items, slots, allowed, tuple(measure_sets(site, ROOM)), inlet_bands(site), squeeze, lost
    )


def _allowed(
    site: Site, items: tuple[Item, ...], slots: tuple[Slot, ...], fits: Fits
) -> frozenset[tuple[int, str]]:
    """Find the pairs of item and slot that nothing forbids; a box left as it is takes only its own."""
    at_home: dict[str, list[Item]] = {}
    for item in items:
        at_home.setdefault(item.services[0].box, []).append(item)
    found = set()
    for slot in slots:
        left_as_it_is = slot.is_box and slot.candidate.role is Role.BARE
        for item in at_home.get(slot.candidate.ref, []) if left_as_it_is else items:
            key = (item.index, slot.candidate)
            if key not in fits:
                names = tuple(service.name for service in item.services)
                fits[key] = eligibility.obstacle(site, names, slot.candidate) is None
            right_zone = slot.zone is None or all(service.zone == slot.zone for service in item.services)
            if fits[key] and right_zone:
                found.add((item.index, slot.key))
    return frozenset(found)


def measure_sets(site: Site, target: str) -> list[frozenset[str]]:
    """List the sets of allowed measures on a target that go together, the empty one first.

    A set holds no two that exclude each other, at most one that brings another sound, and none beside one
    that takes the source out.
    """
    free = [measure for measure in site.measures if measure.target == target and measure.allowed]
    if 2 ** len(free) > PARAMS.formulation.most_variants:
        raise TooManyVariantsError(_too_many(target, len(free)))
    subsets = chain.from_iterable(combinations(free, size) for size in range(len(free) + 1))
    return [frozenset(item.name for item in subset) for subset in subsets if _go_together(subset)]


def _too_many(target: str, count: int) -> Conflict:
    most, place = math.floor(math.log2(PARAMS.formulation.most_variants)), Place(target, target)
    return Conflict(
        Rule.MEASURES, (), place, amount=count - most, unit="measures", there=most, shown=Shown.IN_ALL
    )


def _go_together(subset: Iterable[Measure]) -> bool:
    taken = tuple(subset)
    names = {measure.name for measure in taken}
    effects = [measure.source_effect for measure in taken if measure.source_effect is not None]
    if any(measure.excludes & names for measure in taken):
        return False
    if sum(effect.sound is not None for effect in effects) > 1:
        return False
    return len(taken) == 1 or not any(effect.takes_out for effect in effects)


def inlet_bands(site: Site) -> tuple[float, ...]:
    """List the temperatures at which some source's fans change step, up to the inlet limit, rising."""
    limit = site.policy.inlet_limit_c
    sounds = [box.spec.sound for box in site.boxes] + [kind.spec.sound for kind in site.kinds]
    sounds += [gear.sound for gear in site.gear] + [option.sound for option in site.cooling]
    for measure in site.measures:
        if measure.source_effect is not None and measure.source_effect.sound is not None:
            sounds.append(measure.source_effect.sound)
    steps = {upper for source in sounds for upper, _ in source.inlet_steps if upper < limit}
    return (*sorted(steps), limit)
