"""A first plan in a moment: every service where it costs least watts by itself, hosts filled greedily.

It holds every rule or it is none: the judge has the last word, and what it rejects is thrown away.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from planner import fit
from planner.ledger import ledger
from planner.placement.model import Model
from planner.placement.packing import tries
from planner.placement.problem import Item, Problem, Slot, prepare
from planner.placement.realise import load_of, named_units
from planner.plan import sound_value
from planner.site import Aim, Role, Site
from planner.state import Machine, State, state_today
from planner.verify import verify_state


def construct(site: Site, seed: int) -> State | None:
    """Give the best of a few quick states that pass the judge, by the first aim; None where none does."""
    today = state_today(site)
    candidates = [today]
    placed = _consolidated(site, seed)
    cooling = list(_cooling_choices(site))
    if placed is not None:
        candidates += [State(placed, frozenset(), choice) for choice in cooling]
    good = [state for state in candidates if not verify_state(site, state)]
    return min(good, key=lambda state: _worth(site, state), default=None)


def _worth(site: Site, state: State) -> tuple[float, float]:
    book = ledger(site, state)
    level = sound_value(site, book.levels_dba) if Aim.SOUND in site.policy.aims else 0.0
    return level, book.mean_power_w


def _cooling_choices(site: Site) -> Iterator[dict[str, frozenset[str]]]:
    """Give today's cooling, then each option by itself where it can run all year."""
    yield dict(state_today(site).cooling)
    for option in site.cooling:
        if all(season.name in option.removal for season in site.seasons) and not option.requires:
            yield {season.name: frozenset((option.name,)) for season in site.seasons}


def _consolidated(site: Site, seed: int) -> tuple[Machine, ...] | None:
    """Give machines: each item on the slot with the least watts for its share, hosts packed by zone."""
    problem = prepare(site)
    model = Model(problem)
    chosen: dict[str, list[Item]] = {}
    for item in problem.items:
        slots = problem.slots_of(item)
        if not slots:
            return None
        best = min(slots, key=lambda slot: _share_w(problem, slot, item))
        chosen.setdefault(best.key, []).append(item)
    units: list[tuple[Slot, tuple[Item, ...], str]] = []
    boxes: list[Machine] = []
    for slot in problem.slots:
        items = chosen.get(slot.key, [])
        if slot.is_box:
            boxes += _box(site, slot, items)
        elif slot.candidate.role is Role.HOST and items:
            load = load_of(model, slot, items)
            packed = tries(load, seed, count=6)
            units += [(slot, tuple(items[index] for index in unit), slot.circuits[0]) for unit in packed]
        else:
            units += [(slot, (item,), slot.circuits[0]) for item in items]
    return (*boxes, *named_units(model, units))


def _share_w(problem: Problem, slot: Slot, item: Item) -> float:
    """Give the watts of an item on a slot: the whole machine alone, or its largest share of a host."""
    spec, site = slot.spec, problem.site
    if slot.is_box and site.box[slot.candidate.ref].stays is not None:
        return 0.0
    if not slot.is_host:
        return spec.idle_w
    names = tuple(service.name for service in item.services)
    shares = [0.0]
    for resource in fit.UNITS:
        room = fit.room_for(site, slot.candidate, resource)
        if room:
            shares.append(fit.needed_of(site, names, slot.candidate, resource) / room)
    return spec.idle_w * max(shares) if math.isfinite(max(shares)) else math.inf


def _box(site: Site, slot: Slot, items: list[Item]) -> list[Machine]:
    """Give a box that keeps its items, or that must stay on; nothing where it is free."""
    box = site.box[slot.candidate.ref]
    as_today = slot.key == box.name
    if not items and not (box.stays is not None and as_today):
        return []
    carried = {service.name for item in items for service in item.services}
    services = tuple(service.name for service in site.services if service.name in carried)
    return [Machine(box.name, slot.candidate.role, box.circuit, services, box.name)]
