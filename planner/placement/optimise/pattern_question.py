"""A question answered with all its pools of hosts written by patterns: one master for every kind of host.

The programme of the question stays as it is, so that all that couples hosts, money, heat, circuits, sound,
is held exactly; a solution is packed already.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from planner.domain.state import State
from planner.placement.column_generation.arc_flow_graph import in_steps
from planner.placement.column_generation.columns import Column
from planner.placement.column_generation.diving import Diver, Taken
from planner.placement.column_generation.pricing import Wares
from planner.placement.column_generation.restricted_master import Master
from planner.placement.formulation import Model
from planner.placement.formulation.packing_cuts import Cut
from planner.placement.formulation.problem import Item, Slot
from planner.placement.formulation.question_model import Question, QuestionModel
from planner.placement.packing.pools import load_of
from planner.placement.packing.vector_packing import FEW_A_UNIT, least_units, tries
from planner.solver import Answer, Limits
from planner.solver.confirm import Claim

MOST_ITEMS = 300
"""Items up to which patterns are tried."""


@dataclass(frozen=True)
class Joined:
    """What patterns gave: a bound, rows that pools learnt, and of a solution the values and units by slot.

    ``shown`` is what of the bound needs no solver to be shown, ``claim`` makes what the rest of it claims.
    """

    bound: float
    cuts: tuple[Cut, ...]
    shown: float = -math.inf
    claim: Callable[[], Claim] | None = None
    values: Mapping[str, float] = field(default_factory=dict)
    units: Mapping[str, Sequence[tuple[Item, ...]]] = field(default_factory=dict)


@dataclass(frozen=True)
class Part:
    """A pool of hosts, the items that may go there, and the same ready to be priced."""

    slot: Slot
    items: tuple[Item, ...]
    wares: Wares


def few_a_unit(model: Model, answer: Answer) -> bool:
    """Say whether patterns can answer: some hosts are pooled, no zones bind in them, units hold few items."""
    for slot in _pools(model):
        carried = sum(answer.values[variable.name] for _, variable in model.placed(slot))
        if carried > FEW_A_UNIT * answer.values[model.on[slot.key].name] + 0.5:
            return False
    return _can_be_patterns(model)


def few_in_steps(model: Model) -> bool:
    """Say whether patterns are to be asked first: besides, one resource binds, in whole steps; no foes."""
    loads = [load_of(model, slot, [item for item, _ in model.placed(slot)]) for slot in _pools(model)]
    return (
        _can_be_patterns(model)
        and all(load.sizes.shape[1] == 1 and not any(load.foes.values()) for load in loads)
        and all(in_steps(load.sizes[:, 0].tolist()) is not None for load in loads)
        and all(load.count <= FEW_A_UNIT * least_units(load) for load in loads)
    )


def _can_be_patterns(model: Model) -> bool:
    slots = _pools(model)
    if not slots or len(model.problem.items) > MOST_ITEMS or model.problem.site.policy.spare_hosts:
        return False
    zones = [{s.zone for item in model.problem.items_of(slot) for s in item.services} for slot in slots]
    return all(len(mixed) <= slot.spec.zones for mixed, slot in zip(zones, slots, strict=True))


def join(
    questions: QuestionModel,
    question: Question,
    good: float,
    state: State | None,
    limits: Limits,
    cancel: threading.Event | None = None,
) -> Iterator[Joined]:
    """Answer a question by patterns: better and better solutions, at last what is known without one.

    ``good``: the value of the best plan so far; ``state``: a plan whose units may be of use.
    """
    master, parts = master_of(questions, question, good, state, limits, cancel)
    master.raise_bound()
    for answer, taken in Diver(master).solutions():
        units = _units(questions.model, parts, answer, taken)
        yield Joined(master.bound, _cuts(master, parts), values=answer.values, units=units)
    yield Joined(master.bound, _cuts(master, parts), master.shown, master.claim)


def master_of(
    questions: QuestionModel,
    question: Question,
    good: float,
    state: State | None,
    limits: Limits,
    cancel: threading.Event | None = None,
) -> tuple[Master, list[Part]]:
    """Give a question with its pools written by patterns, a few of them known, and what each pool is."""
    model = questions.model
    parts = [_part(model, slot) for slot in _pools(model)]
    wanted, rows = questions.written(question)
    pools = [
        (model.on[part.slot.key], [variable for _, variable in model.placed(part.slot)], part.wares)
        for part in parts
    ]
    held = {**model.program.rows, **rows}
    master = Master(model.program, wanted, held, pools, limits, questions.grain(question), good, cancel)
    for pool, part in enumerate(parts):
        master.add(pool, _known(part, state, limits.seed))
    return master, parts


def _pools(model: Model) -> list[Slot]:
    return [slot for slot in model.problem.slots if slot.is_host and slot.pool]


def _part(model: Model, slot: Slot) -> Part:
    items = tuple(item for item, _ in model.placed(slot))
    return Part(slot, items, Wares.of(load_of(model, slot, items)))


def _known(part: Part, state: State | None, seed: int) -> Iterator[Column]:
    """Give patterns to begin with: single items, a greedy packing, and the units of a state."""
    load = part.wares.load
    yield from ((index,) for index in range(load.count))
    yield from tries(load, seed)
    place = {service.name: index for index, item in enumerate(part.items) for service in item.services}
    for machine in state.machines if state is not None else ():
        if part.slot.is_one_of(machine) and all(name in place for name in machine.services):
            yield tuple({place[name] for name in machine.services})


def _cuts(master: Master, parts: Sequence[Part]) -> tuple[Cut, ...]:
    return tuple(
        Cut(
            parts[pool].slot.key,
            dict(zip((i.index for i in parts[pool].items), prices.tolist(), strict=True)),
        )
        for pool, prices in master.taught()
    )


def _units(
    model: Model, parts: Sequence[Part], answer: Answer, taken: Taken
) -> dict[str, list[tuple[Item, ...]]]:
    """Give by slot the units of a solution: each item on a column taken that has room for its sort."""
    found: dict[str, list[tuple[Item, ...]]] = {}
    for pool, part in enumerate(parts):
        here = [
            item if answer.values[model.place[item.index, part.slot.key].name] > 0.5 else None
            for item in part.items
        ]
        waiting = [[item for item in sort if item is not None] for sort in part.wares.together(here)]
        units = [
            tuple(waiting[sort].pop() for sort in column if waiting[sort])
            for number, column in taken
            if number == pool
        ]
        found[part.slot.key] = [unit for unit in units if unit]
    return found
