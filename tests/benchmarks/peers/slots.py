"""The machines that a textbook model lists one by one, and the way back from its answer to a filling."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tests.benchmarks.peers.first_fit import first_fit
from tests.benchmarks.peers.task import Filling, Make, Task


@dataclass(frozen=True)
class Slot:
    """One machine that may be on; a single make needs no more than one slot, as each item has its own unit.

    ``open``: such a slot stands for as many machines as items are on it.
    """

    make: int
    unit: int
    open: bool = False


def slots_of(task: Task) -> list[Slot]:
    """List the machines a person would list: of each make as many as first fit needs for all it may hold."""
    found = []
    for number, make in enumerate(task.makes):
        if make.single and make.units >= task.items:
            found.append(Slot(number, 0, open=True))
        else:
            found += [Slot(number, unit) for unit in range(_needed(task, make))]
    return found


def _needed(task: Task, make: Make) -> int:
    """Compute how many of a make first fit opens for all items that may go there, no more than there are."""
    if make.units == 1 or make.single:
        return make.units
    order = sorted(make.sizes)
    renamed = {item: index for index, item in enumerate(order)}
    alone = Task(
        make.name,
        len(order),
        (
            Make(
                make.name,
                make.capacity,
                1.0,
                len(order),
                {renamed[item]: size for item, size in make.sizes.items()},
            ),
        ),
        frozenset((renamed[one], renamed[other]) for one, other in task.pairs(make)),
    )
    filling = first_fit(alone) if order else ()
    return min(make.units, len(order) if filling is None else len(filling))


def filling_of(slots: list[Slot], placed: Iterable[tuple[int, int]]) -> Filling:
    """Make the filling of pairs (item, number of its slot)."""
    on: dict[int, list[int]] = {}
    for item, number in placed:
        on.setdefault(number, []).append(item)
    found: list[tuple[int, tuple[int, ...]]] = []
    for number, items in sorted(on.items()):
        slot = slots[number]
        groups = [(item,) for item in sorted(items)] if slot.open else [tuple(sorted(items))]
        found += [(slot.make, group) for group in groups]
    return found
