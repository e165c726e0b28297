"""Rows for items of which no two fit one unit of a pool: a pool needs a unit for each of a clique."""

from __future__ import annotations

import numpy as np

from planner.domain.resources import RESOURCES
from planner.placement.formulation.assignment import Model
from planner.placement.formulation.peak_hours import binding_hours
from planner.placement.formulation.problem import Item
from planner.placement.formulation.slots import Slot
from planner.placement.params import PARAMS

Edges = np.ndarray[tuple[int, int], np.dtype[np.bool_]]


def add_cliques(model: Model) -> None:
    """Add clique rows to every pool of hosts that is small enough to look at all its pairs."""
    for slot in model.problem.slots:
        placed = model.placed(slot)
        if slot.units == 1 or not slot.is_host or not 2 < len(placed) <= PARAMS.formulation.clique_items:
            continue
        items = [item for item, _ in placed]
        for number, clique in enumerate(cliques(_conflicts(model, slot, items))):
            terms = [(placed[index][1], 1.0) for index in clique]
            row = model.program.total([*terms, (model.on[slot.key], -1.0)]) <= 0
            model.program.row(f"a unit each {number}:{slot.key}", row)


def _conflicts(model: Model, slot: Slot, items: list[Item]) -> Edges:
    """Compute which pairs cannot share a unit: too large together, or kept apart by a rule."""
    conflicts: Edges = np.zeros((len(items), len(items)), bool)
    for resource in RESOURCES:
        capacity = model.problem.usable(slot, resource) * (1.0 + 1e-9)
        for hour in binding_hours(model.problem.site.slots, items, resource):
            sizes = np.array(model.problem.needed(slot, items, resource, hour))
            conflicts |= sizes[:, None] + sizes[None, :] > capacity
    place = {service.name: index for index, item in enumerate(items) for service in item.services}
    for rule in model.problem.site.apart:
        here = sorted({place[name] for name in rule.services if name in place})
        conflicts[np.ix_(here, here)] = True
    np.fill_diagonal(conflicts, False)
    return conflicts


def cliques(conflicts: Edges) -> list[list[int]]:
    """Cover the pairs of conflicts greedily with cliques of at least three, the largest first."""
    open_pairs, degree = conflicts.copy(), conflicts.sum(axis=1)
    found: list[list[int]] = []
    while open_pairs.any() and len(found) < PARAMS.formulation.most_cliques:
        first = int(np.argmax(open_pairs.sum(axis=1)))
        clique, able = [first], conflicts[first].copy()
        while able.any():
            gain = open_pairs[:, clique].sum(axis=1) * len(conflicts) + degree
            best = int(np.argmax(np.where(able, gain, -1)))
            clique.append(best)
            able &= conflicts[best]
        open_pairs[np.ix_(clique, clique)] = False
        if len(clique) > 2:
            found.append(sorted(clique))
    return sorted(found, key=lambda clique: -len(clique))
