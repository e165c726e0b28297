"""First fit in order of falling size: hosts of one make at a time, the best make kept.

Items that cannot go to that make go where they cost least by themselves; in the end each machine is
exchanged for the make that holds its items for the least.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from tests.benchmarks.peers.child import Job, Teller, serve
from tests.benchmarks.peers.task import TOLERANCE, Filling, Make, Task


@dataclass
class Machine:
    """A machine that is being filled."""

    number: int
    make: Make
    items: list[int] = field(default_factory=list)
    loads: list[float] = field(default_factory=list)

    def takes(self, task: Task, item: int) -> bool:
        """Put an item there if there is room for it and no foe of it; say whether it was."""
        if self.items and (self.make.single or not self._peace(task, item)):
            return False
        size = self.make.sizes[item]
        loads = (
            [load + taken for load, taken in zip(self.loads, size, strict=True)] if self.items else [*size]
        )
        if any(load > most + TOLERANCE for load, most in zip(loads, self.make.capacity, strict=True)):
            return False
        self.loads = loads
        self.items.append(item)
        return True

    def _peace(self, task: Task, item: int) -> bool:
        if not task.foes.get(item, frozenset()).isdisjoint(self.items):
            return False
        clashes = self.make.clashes
        return not clashes or not any((min(item, o), max(item, o)) in clashes for o in self.items)


def first_fit(task: Task) -> Filling | None:
    """Make the best first-fit filling over the makes to fill first; None where each breaks a rule."""
    families: dict[str, list[int]] = {}
    for number, make in enumerate(task.makes):
        if not make.single and make.units > 1:
            families.setdefault(make.name.split("/")[0], []).append(number)
    filled = [_filled(task, family) for family in families.values()]
    found = [_exchanged(task, machines) for machines in filled if machines is not None]
    good = [filling for filling in found if math.isfinite(task.worth(filling))]
    return min(good, key=task.worth, default=None)


def _filled(task: Task, family: list[int]) -> list[Machine] | None:
    """Fill machines of a family, one make for each zone, by falling size; None where an item goes nowhere."""
    machines: dict[int, list[Machine]] = {}
    for item in sorted(range(task.items), key=lambda item: -_size(task, item)):
        able = [number for number in family if item in task.makes[number].sizes]
        if able and _put(task, machines, able[0], item):
            continue
        makes = [(make.adds((item,)), n) for n, make in enumerate(task.makes) if item in make.sizes]
        if not any(_put(task, machines, number, item) for _, number in sorted(makes)):
            return None
    return [machine for there in machines.values() for machine in there]


def _put(task: Task, machines: dict[int, list[Machine]], number: int, item: int) -> bool:
    """Put an item on the first machine of a make with room, or on a new one; False where there is none."""
    there = machines.setdefault(number, [])
    if not task.makes[number].single and any(machine.takes(task, item) for machine in there):
        return True
    if len(there) == task.makes[number].units:
        return False
    there.append(Machine(number, task.makes[number]))
    return there[-1].takes(task, item)


def _size(task: Task, item: int) -> float:
    """Compute an item's size: its largest share of the make in which that is least."""
    shares = []
    for make in task.makes:
        if item in make.sizes:
            pairs = zip(make.sizes[item], make.capacity, strict=True)
            shares.append(max((taken / most for taken, most in pairs if most), default=0.0))
    return min(shares, default=0.0)


def _exchanged(task: Task, machines: list[Machine]) -> Filling:
    found = []
    for machine in machines:
        able = [
            other
            for other, make in enumerate(task.makes)
            if other == machine.number or (make.units >= task.items and make.holds(machine.items))
        ]
        best = min(able, key=lambda other: task.makes[other].adds(machine.items))
        found.append((best, tuple(machine.items)))
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
