"""The assignment model as a person would write it in PuLP: x[item, machine], y[machine], alike ones in order.

``python -m tests.benchmarks.peers.textbook cbc|highs`` solves it by one of the two.
"""

from __future__ import annotations

import math
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pulp

from tests.benchmarks.peers import cbc, highs
from tests.benchmarks.peers.child import Job, Teller, serve
from tests.benchmarks.peers.slots import Slot, filling_of, slots_of
from tests.benchmarks.peers.task import Row, Task


@dataclass
class Model:
    """The variables of a task: ``place`` by item and number of the slot, ``on`` by number of the slot."""

    task: Task
    slots: list[Slot]
    problem: pulp.LpProblem
    place: dict[tuple[int, int], pulp.LpVariable] = field(default_factory=dict)
    on: dict[int, pulp.LpVariable] = field(default_factory=dict)

    def here(self, slot: int) -> list[tuple[int, pulp.LpVariable]]:
        """List the items that may be on a slot, with their variables."""
        make = self.task.makes[self.slots[slot].make]
        return [(item, self.place[item, slot]) for item in make.sizes]


def model_of(task: Task) -> Model:
    """Write the model down."""
    model = Model(task, slots_of(task), pulp.LpProblem("textbook", pulp.LpMinimize))
    for number, slot in enumerate(model.slots):
        if not slot.open:
            model.on[number] = pulp.LpVariable(f"y_{number}", cat=pulp.LpBinary)
        for item in task.makes[slot.make].sizes:
            model.place[item, number] = pulp.LpVariable(f"x_{item}_{number}", cat=pulp.LpBinary)
    model.problem += pulp.LpAffineExpression(_objective(model))
    by_item: dict[int, list[pulp.LpVariable]] = {item: [] for item in range(task.items)}
    for (item, _), variable in model.place.items():
        by_item[item].append(variable)
    for variables in by_item.values():
        model.problem += pulp.lpSum(variables) == 1
    for number in range(len(model.slots)):
        _machine(model, number)
    for row in task.rows:
        model.problem += pulp.LpAffineExpression(_counted(model, row)) <= row.most
    return model


def _objective(model: Model) -> Iterator[tuple[pulp.LpVariable, float]]:
    makes = model.task.makes
    for number, variable in model.on.items():
        yield variable, makes[model.slots[number].make].fixed
    for (item, number), variable in model.place.items():
        slot = model.slots[number]
        make = makes[slot.make]
        yield variable, make.each.get(item, 0.0) + (make.fixed if slot.open else 0.0)


def _counted(model: Model, row: Row) -> Iterator[tuple[pulp.LpVariable, float]]:
    for number, variable in model.on.items():
        yield variable, row.fixed[model.slots[number].make]
    for (item, number), variable in model.place.items():
        slot = model.slots[number]
        fixed = row.fixed[slot.make] if slot.open else 0.0
        yield variable, row.each[slot.make].get(item, 0.0) + fixed


def _machine(model: Model, number: int) -> None:
    """Write the rows of one machine: room for its items, conflicts, its place among those alike."""
    slot, problem = model.slots[number], model.problem
    if slot.open:
        return
    make, on, here = model.task.makes[slot.make], model.on[number], model.here(number)
    problem += pulp.lpSum(variable for _, variable in here) <= (1 if make.single else len(here)) * on
    for resource, most in enumerate(make.capacity):
        if math.isfinite(most):
            terms = [(variable, make.sizes[item][resource]) for item, variable in here]
            if any(amount for _, amount in terms):
                problem += pulp.LpAffineExpression([*terms, (on, -most)]) <= 0
    inside = dict(here)
    for one, other in model.task.pairs(make):
        problem += inside[one] + inside[other] <= on
    before = number - 1
    if slot.unit and model.slots[before].make == slot.make:
        problem += model.on[before] >= on


def _run(job: Job, teller: Teller) -> None:
    assert job.task is not None
    solver = cbc.solve if sys.argv[1] == "cbc" else highs.solve
    model = model_of(job.task)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "textbook.mps"
        model.problem.writeMPS(str(path))
        left = job.seconds - teller.seconds
        if left <= 0.0:
            teller.last(False, None, reason="the time was up before the model was written")
            return
        answer = solver(path, left, job, teller, job.task.constant)
    filling = None
    if answer.values is not None:
        placed = [
            pair for pair, variable in model.place.items() if answer.values.get(variable.name, 0.0) > 0.5
        ]
        filling = filling_of(model.slots, placed)
    teller.last(answer.proven, answer.bound, filling)


if __name__ == "__main__":
    serve(_run)
