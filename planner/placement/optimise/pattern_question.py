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
from planner.placement.column_generation.restricted_master import RestrictedMaster
from planner.placement.formulation import Model
from planner.placement.formulation.packing_cuts import Cut
from planner.placement.formulation.problem import Item
from planner.placement.formulation.question_model import Question, QuestionModel
from planner.placement.formulation.slots import Slot
from planner.placement.packing.pools import instance_of
from planner.placement.packing.vector_packing import lower_bound, pack_greedily
from planner.placement.params import PARAMS, DivingParams
from planner.placement.pool_instance import PoolInstance
from planner.solver import Answer, Limits
from planner.solver.confirm import Claim


@dataclass(frozen=True)
class PatternAnswer:
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
class PooledSlot:
    """A pool of hosts, the items that may go there, and both as an instance to pack."""

    slot: Slot
    items: tuple[Item, ...]
    instance: PoolInstance


def can_answer(model: Model, answer: Answer) -> bool:
    """Say whether patterns can answer: some hosts are pooled, no zones bind in them, units hold few items."""
    for slot in _pools(model):
        carried = sum(answer.values[variable.name] for _, variable in model.placed(slot))
        if carried > PARAMS.packing.few_a_unit * answer.values[model.on[slot.key].name] + 0.5:
            return False
    return _can_be_patterns(model)


def can_answer_first(model: Model) -> bool:
    """Say whether patterns are to be asked first: besides, one resource binds, in steps; no conflicts."""
    instances = [_pooled(model, slot).instance for slot in _pools(model)]
    return (
        _can_be_patterns(model)
        and all(each.sizes.shape[1] == 1 and not any(each.conflicts.values()) for each in instances)
        and all(in_steps(each.sizes[:, 0].tolist()) is not None for each in instances)
        and all(each.count <= PARAMS.packing.few_a_unit * lower_bound(each) for each in instances)
    )


def _can_be_patterns(model: Model) -> bool:
    slots, is_small = _pools(model), len(model.problem.items) <= PARAMS.strategies.pattern_items
    if not slots or not is_small or model.problem.site.policy.spare_hosts:
        return False
    zones = [{s.zone for item in model.problem.items_of(slot) for s in item.services} for slot in slots]
    return all(len(mixed) <= slot.spec.zones for mixed, slot in zip(zones, slots, strict=True))


def solve_by_patterns(
    questions: QuestionModel,
    question: Question,
    good: float,
    state: State | None,
    limits: Limits,
    cancel: threading.Event | None = None,
    params: DivingParams = PARAMS.diving,
) -> Iterator[PatternAnswer]:
    """Answer a question by patterns: better and better solutions, at last what is known without one.

    ``good``: the value of the best plan so far; ``state``: a plan whose units may be of use.
    """
    master, pooled_slots = build_master(questions, question, good, state, limits, cancel)
    master.generate_until_bound()
    for answer, taken in Diver(master, params).solutions():
        units = _units(questions.model, pooled_slots, answer, taken)
        yield PatternAnswer(master.bound, _cuts(master, pooled_slots), values=answer.values, units=units)
    yield PatternAnswer(master.bound, _cuts(master, pooled_slots), master.shown, master.claim)


def build_master(
    questions: QuestionModel,
    question: Question,
    good: float,
    state: State | None,
    limits: Limits,
    cancel: threading.Event | None = None,
) -> tuple[RestrictedMaster, list[PooledSlot]]:
    """Build the restricted master of a question, with a few patterns in it, and its pools."""
    model = questions.model
    pooled_slots = [_pooled(model, slot) for slot in _pools(model)]
    wanted, rows = questions.write(question)
    pools = [
        (model.on[pooled.slot.key], [variable for _, variable in model.placed(pooled.slot)], pooled.instance)
        for pooled in pooled_slots
    ]
    held = {**model.program.rows, **rows}
    master = RestrictedMaster(
        model.program, wanted, held, pools, limits, questions.grain(question), good, cancel
    )
    for pool, pooled in enumerate(pooled_slots):
        master.add(pool, _known(pooled, state, limits.seed))
    return master, pooled_slots


def _pools(model: Model) -> list[Slot]:
    return [slot for slot in model.problem.slots if slot.is_host and slot.pool]


def _pooled(model: Model, slot: Slot) -> PooledSlot:
    items = tuple(item for item, _ in model.placed(slot))
    return PooledSlot(slot, items, instance_of(model, slot, items))


def _known(pooled: PooledSlot, state: State | None, seed: int) -> Iterator[Column]:
    """List patterns to begin with: single items, a greedy packing, and the units of a state."""
    instance = pooled.instance
    yield from ((index,) for index in range(instance.count))
    yield from pack_greedily(instance, seed)
    place = {service.name: index for index, item in enumerate(pooled.items) for service in item.services}
    for machine in state.machines if state is not None else ():
        if pooled.slot.is_one_of(machine) and all(name in place for name in machine.services):
            yield tuple({place[name] for name in machine.services})


def _cuts(master: RestrictedMaster, pooled_slots: Sequence[PooledSlot]) -> tuple[Cut, ...]:
    return tuple(
        Cut(
            pooled_slots[pool].slot.key,
            dict(zip((i.index for i in pooled_slots[pool].items), prices.tolist(), strict=True)),
        )
        for pool, prices in master.learnt_cuts()
    )


def _units(
    model: Model, pooled_slots: Sequence[PooledSlot], answer: Answer, taken: Taken
) -> dict[str, list[tuple[Item, ...]]]:
    """Decode, by slot, the units of a solution: each item on a column taken that has room for its class."""
    found: dict[str, list[tuple[Item, ...]]] = {}
    for pool, pooled in enumerate(pooled_slots):
        here = [
            item if answer.values[model.place[item.index, pooled.slot.key].name] > 0.5 else None
            for item in pooled.items
        ]
        waiting = [[item for item in alike if item is not None] for alike in pooled.instance.by_class(here)]
        units = [
            tuple(waiting[number].pop() for number in column if waiting[number])
            for of, column in taken
            if of == pool
        ]
        found[pooled.slot.key] = [unit for unit in units if unit]
    return found
