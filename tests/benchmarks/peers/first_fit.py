"""First fit in order of falling size: hosts of one make at a time, the best make kept.

Items that cannot go to that make go where they cost least by themselves; in the end each machine is
exchanged for the make that holds its items for the least.
"""

from __future__ import annotations

import math

from tests.benchmarks.peers.child import Job, Teller, serve
from tests.benchmarks.peers.task import Filling, Make, Task


def first_fit(task: Task) -> Filling | None:
    """Give the best first-fit filling over the makes to fill first; None where each breaks a rule."""
    found = [_exchanged(task, _filled(task, make)) for make in range(len(task.makes)) if _many(task, make)]
    good = [filling for filling in found if math.isfinite(task.worth(filling))]
    return min(good, key=task.worth, default=None)


def _many(task: Task, number: int) -> bool:
    make = task.makes[number]
    return not make.single and make.units > 1


def _filled(task: Task, preferred: int) -> list[tuple[int, list[int]]]:
    """Fill machines of a make by falling size; makes that are called alike but for a zone go together."""
    family = {
        number
        for number, make in enumerate(task.makes)
        if _many(task, number) and make.name.split("/")[0] == task.makes[preferred].name.split("/")[0]
    }
    machines: list[tuple[int, list[int]]] = []
    for item in sorted(range(task.items), key=lambda item: -_size(task, item)):
        able = [number for number in family if item in task.makes[number].sizes]
        chosen = able[0] if able else _cheapest(task, machines, item)
        if chosen is None:
            return []
        make = task.makes[chosen]
        for number, items in machines:
            if number == chosen and _fits(task, make, items, item):
                items.append(item)
                break
        else:
            machines.append((chosen, [item]))
    return machines


def _fits(task: Task, make: Make, items: list[int], item: int) -> bool:
    return task.foes.get(item, frozenset()).isdisjoint(items) and make.holds([*items, item])


def _size(task: Task, item: int) -> float:
    """Give an item's size: its largest share of the make in which that is least."""
    shares = [
        max(
            (taken / most for taken, most in zip(make.sizes[item], make.capacity, strict=True) if most),
            default=0.0,
        )
        for make in task.makes
        if item in make.sizes
    ]
    return min(shares, default=0.0)


def _cheapest(task: Task, machines: list[tuple[int, list[int]]], item: int) -> int | None:
    """Give the make on which an item costs least by itself, one that is there and has room for free."""
    able = []
    for number, make in enumerate(task.makes):
        if item in make.sizes:
            there = [items for other, items in machines if other == number]
            joins = any(_fits(task, make, items, item) for items in there)
            if joins or len(there) < make.units:
                able.append((make.each.get(item, 0.0) if joins else make.adds((item,)), number))
    return min(able)[1] if able else None


def _exchanged(task: Task, machines: list[tuple[int, list[int]]]) -> Filling:
    found = []
    for number, items in machines:
        able = [
            other
            for other, make in enumerate(task.makes)
            if (make.units >= task.items or other == number) and make.holds(items)
        ]
        best = min(able, key=lambda other: task.makes[other].adds(items), default=number)
        found.append((best, tuple(items)))
    return found


def _run(job: Job, teller: Teller) -> None:
    assert job.task is not None
    filling = None
    for task in (job.task, *job.easier):
        found = first_fit(task)
        if found is not None:
            teller.better(task.worth(found), None)
            filling = found if task is job.task else filling
    teller.last(False, None, filling)


if __name__ == "__main__":
    serve(_run)
