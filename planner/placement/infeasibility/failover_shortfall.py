"""When spare hosts are what leaves no plan: what a loss of hosts lacks, by elastic programming."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import islice

from planner.domain.conflict import Conflict, Rule, Shown
from planner.placement.formulation import Model
from planner.placement.formulation.slots import Slot
from planner.placement.infeasibility.elastic import keep_worst, loosened, repairs
from planner.solver import Limits


def shortfalls_and_repairs(
    model: Model, limits: Limits, cancel: threading.Event | None = None
) -> tuple[Conflict, ...]:
    """Solve for what a loss lacks and for other repairs; for both together only where neither is enough."""
    found = (*shortfalls(model, limits, cancel), *repairs(model, limits, cancel))
    if found or not model.problem.site.policy.spare_hosts:
        return found
    solved = loosened(model, model.program.about, limits, cancel)
    return () if solved is None else keep_worst(_conflicts(model, *solved))


def shortfalls(model: Model, limits: Limits, cancel: threading.Event | None = None) -> tuple[Conflict, ...]:
    """Solve for what a loss lacks where a plan would exist without spare hosts; else empty."""
    names = [name for name, item in model.program.about.items() if item.shown is Shown.AFTER_LOSS]
    solved = loosened(model, names, limits, cancel) if names else None
    if solved is None:
        return ()
    found = keep_worst(_conflicts(model, *solved))
    many = float(model.problem.site.policy.spare_hosts)
    spare = Conflict(Rule.SPARE_HOSTS, amount=many, unit="hosts", there=0.0, shown=Shown.AFTER_LOSS)
    return (*found, spare)


def _conflicts(model: Model, used: Mapping[str, float], values: Mapping[str, float]) -> Iterator[Conflict]:
    """Make a conflict of each slack in use; of a zone's room only where the room of all does not show it."""
    rows = [(model.program.about[row], amount) for row, amount in used.items()]
    of_loss = [item for item, _ in rows if item.shown is Shown.AFTER_LOSS and item.rule is Rule.CAPACITY]
    short = {item.resource for item in of_loss if not item.subject}
    for item, amount in rows:
        if item.rule is Rule.CAPACITY and item.subject and item.resource in short:
            continue
        if item.lost or item.shown is not Shown.AFTER_LOSS:  # the row knows all that is lost
            yield replace(item, amount=amount)
            continue
        lost = tuple(slot.place for slot in _lost(model, item, values))
        more = model.problem.site.policy.spare_hosts - 1
        yield replace(item, amount=amount, lost=lost, more_lost=more)


def _lost(model: Model, about: Conflict, values: Mapping[str, float]) -> list[Slot]:
    """Look up the host whose loss shows it: the largest, or the one that carries the services."""
    on = [slot for slot in model.problem.slots if slot.is_host and values[model.on[slot.key].name] > 0.5]
    if about.rule is Rule.CAPACITY:
        return sorted(on, key=lambda slot: model.problem.usable(slot, about.resource), reverse=True)[:1]
    carrying = (
        slot
        for slot in on
        for item, variable in model.placed(slot)
        if {*about.subject} <= {*item.names} and values[variable.name] > 0.5
    )
    return list(islice(carrying, 1))
