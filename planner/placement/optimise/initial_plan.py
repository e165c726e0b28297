"""A first plan in a moment: every service where it costs least watts by itself, hosts filled greedily.

It holds every rule or it is none: the judge has the last word, and what it rejects is thrown away.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence, Set
from dataclasses import dataclass, replace

from planner import capacity
from planner.domain.plan import aim_value
from planner.domain.resources import RESOURCES
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import Machine, State, role_today, state_today
from planner.ledger import ledger
from planner.physics.heat import NeverSettlesError
from planner.placement.formulation import Model
from planner.placement.formulation.problem import Item, Problem, prepare
from planner.placement.formulation.slots import Slot
from planner.placement.optimise.plan_repair import mend_plan
from planner.placement.packing.decode import Unit, machines_of
from planner.placement.packing.pools import instance_of
from planner.placement.packing.reserve_hosts import pack_with_reserve
from planner.placement.packing.vector_packing import pack_greedily
from planner.placement.params import PARAMS
from planner.verify import verify_state


def first_plan(
    site: Site, start: State | None, seed: int, previous: State | None = None, *, is_large: bool
) -> State | None:
    """Search for a first plan: the start where it is one, else one that is quickly made, where that pays."""
    if start is not None and not verify_state(site, start):
        return start
    if start is not None and not is_large:
        return None
    return construct_plan(site, seed, previous)


def construct_plan(site: Site, seed: int, previous: State | None = None) -> State | None:
    """Search for the best of a few quick states that pass the judge; None where none does."""
    states = [state_today(site)]
    cooling = list(_cooling_choices(site))
    if previous is not None:
        other = mend_plan(site, previous)
        states += [other, *(replace(other, cooling=choice) for choice in cooling)]
    for machines in _placements(site, seed, previous):
        states += [State(machines, frozenset(), choice) for choice in cooling]
    for state in sorted(states, key=lambda state: _worth(site, state)):
        if not verify_state(site, state):
            return state
    return None


def _worth(site: Site, state: State) -> tuple[float, ...]:
    """Compute the aims' values in their order; a state whose room never settles comes after all others."""
    try:
        book = ledger(site, state)
    except NeverSettlesError:
        return (math.inf,)
    return tuple(aim_value(site, state, book, aim) for aim in site.policy.aims)


def _cooling_choices(site: Site) -> Iterator[dict[str, frozenset[str]]]:
    """List today's cooling, then each option by itself where it can run all year."""
    yield dict(state_today(site).cooling)
    for option in site.cooling:
        if all(season.name in option.removal for season in site.seasons) and not option.requires:
            yield {season.name: frozenset((option.name,)) for season in site.seasons}


def _placements(site: Site, seed: int, previous: State | None) -> Iterator[tuple[Machine, ...]]:
    """Build machines: by least watts, by least money, and on small sites with each kind of host by itself."""
    problem = prepare(site, previous=previous)
    model = Model(problem, previous=previous)
    hosts = sorted({slot.candidate.ref for slot in problem.slots if slot.is_host and not slot.box})
    watts = _Taste(lambda slot: slot.spec.idle_w)
    tastes = [watts, _Taste(lambda slot: _price(site, slot))]
    if len(site.services) <= PARAMS.strategies.every_host_services:
        tastes += [replace(taste, only=host) for taste in tastes for host in hosts]
    else:
        tastes = tastes[:1] if site.policy.aims[0] is not Aim.COST else tastes[1:]
    for taste in tastes:
        machines = _consolidated(model, taste, seed)
        if machines is not None:
            yield machines


@dataclass(frozen=True)
class _Taste:
    """What a machine costs to choose by, and the only kind of host to look at at first, if any."""

    cost: Callable[[Slot], float]
    only: str | None = None


def _price(site: Site, slot: Slot) -> float:
    if not slot.is_box:
        return site.kind[slot.candidate.ref].price
    today = slot.candidate.role is role_today(site, slot.candidate.ref)
    return 0.0 if today else site.box[slot.candidate.ref].reuse_price


def _consolidated(model: Model, taste: _Taste, seed: int) -> tuple[Machine, ...] | None:
    """Build machines: each item on the slot with the least cost of its share, hosts packed and exchanged.

    What finds no room on the hosts of a slot, because there are too few, looks elsewhere, in turn.
    """
    problem = model.problem
    full: set[str] = set()
    waiting: Sequence[Item] = problem.items
    units: list[Unit] = []
    while waiting:
        chosen = _chosen(problem, taste, waiting, full)
        if chosen is None:
            return None
        waiting = []
        for slot in problem.slots:
            items = chosen.get(slot.key, [])
            if items:
                made, over = _filled(model, taste, slot, items, units, seed)
                units += made
                waiting = [*waiting, *over]
                full |= {slot.key} if over else set()
                full |= {other.key for other in problem.slots if slot.box and other.box == slot.box}
    return machines_of(model, [*units, *_kept_empty(problem, units)])


def _chosen(
    problem: Problem, taste: _Taste, items: Sequence[Item], full: Set[str]
) -> dict[str, list[Item]] | None:
    """Choose a slot for each item among those with room; None where one has none."""
    chosen: dict[str, list[Item]] = {}
    for item in items:
        slots = tuple(slot for slot in problem.slots_of(item) if slot.key not in full)
        slots = tuple(slot for slot in slots if slot.candidate.ref == taste.only and slot.is_host) or slots
        if not slots:
            return None
        best = min(slots, key=lambda slot: _share(problem, taste, slot, item))
        chosen.setdefault(best.key, []).append(item)
    return chosen


def _filled(
    model: Model, taste: _Taste, slot: Slot, items: Sequence[Item], units: Sequence[Unit], seed: int
) -> tuple[list[Unit], list[Item]]:
    """Fill machines of a slot with items: as many as there are, the fullest first, and what is left over."""
    problem = model.problem
    if not slot.is_host:
        loads = [tuple(items)] if slot.box else [(item,) for item in items]
        return [(slot, each, slot.circuits[0]) for each in loads], []
    instance, spare = instance_of(model, slot, items), problem.site.policy.spare_hosts
    few = PARAMS.packing.few_tries
    packed = pack_with_reserve(instance, seed, spare) if spare else pack_greedily(instance, seed, count=few)
    fullest = sorted(packed, key=lambda unit: -float(instance.sizes[list(unit)].sum()))
    groups = [tuple(items[index] for index in unit) for unit in (fullest if slot.is_box else packed)]
    if not slot.is_box:
        cheapest = [_exchanged(model, taste, slot, group) for group in groups]
        return ([(slot, group, slot.circuits[0]) for group in groups] if spare else cheapest), []
    circuits = _free_circuits(problem, slot, units)
    made = [(slot, group, circuit) for group, circuit in zip(groups, circuits, strict=False)]
    return made, [item for group in groups[len(made) :] for item in group]


def _free_circuits(problem: Problem, slot: Slot, units: Sequence[Unit]) -> list[str]:
    """Look up the circuit of each box of a slot that carries nothing yet."""
    names = slot.alike.boxes if slot.alike is not None else (slot.candidate.ref,)
    kept = {other.box for other, _, _ in units}
    left = [problem.site.box[name].circuit for name in names if name not in kept]
    for other, _, circuit in units:
        if slot.pool and other.pool == slot.pool and circuit in left:
            left.remove(circuit)
    return left


def _kept_empty(problem: Problem, units: Sequence[Unit]) -> list[Unit]:
    """List the boxes that must stay on and carry nothing, as they are today."""
    used = {slot.box for slot, _, _ in units}
    return [
        (slot, (), slot.circuits[0])
        for slot in problem.slots
        if slot.box and slot.key == slot.box and not slot.must_carry and slot.box not in used
    ]


def _exchanged(model: Model, taste: _Taste, slot: Slot, items: tuple[Item, ...]) -> Unit:
    """Choose the cheapest kind of host that holds a host's load."""
    problem = model.problem
    able = [
        other
        for other in problem.slots
        if other.is_host
        and not other.is_box
        and taste.cost(other) < taste.cost(slot)
        and all((item.index, other.key) in problem.allowed for item in items)
        and float(instance_of(model, other, items).sizes.sum(axis=0).max()) <= 1.0
    ]
    best = min(able, key=taste.cost, default=slot)
    return best, items, best.circuits[0]


def _share(problem: Problem, taste: _Taste, slot: Slot, item: Item) -> float:
    """Compute the cost of an item on a slot: the whole machine alone, or its largest share of a host."""
    site = problem.site
    if slot.is_box and site.box[slot.candidate.ref].stays is not None:
        return 0.0
    if not slot.is_host:
        return taste.cost(slot)
    shares = [0.0]
    for resource in RESOURCES:
        room = problem.usable(slot, resource)
        if room:
            taken = capacity.most_needed(site, slot.candidate.role, item.services, resource)
            shares.append(taken / room)
    return taste.cost(slot) * max(shares) if math.isfinite(max(shares)) else math.inf
