"""The same machines and items as a constraint programme, solved by OR-tools CP-SAT, which tells each step."""

from __future__ import annotations

import math
from typing import Any

from ortools.sat.python import cp_model

from tests.benchmarks.peers.child import Job, Teller, serve
from tests.benchmarks.peers.slots import Slot, filling_of, slots_of
from tests.benchmarks.peers.task import Task

SCALE = 1000
"""Sizes are counted in thousandths where they are no whole numbers."""

WORTH_SCALE = 100_000
"""What is minimised is counted in so many parts of one where it is no whole number."""

FINE = 10_000_000
"""Shares of a limit on the whole are counted in this many parts."""


class Code:
    """Literals: ``place`` by item and number of the slot, ``on`` by number of the slot."""

    def __init__(self, task: Task) -> None:
        self.task, self.model, self.slots = task, cp_model.CpModel(), slots_of(task)
        self.scale, self.worth_scale = (1, 1) if _whole(task) else (SCALE, WORTH_SCALE)
        self.on = {n: self.model.new_bool_var("") for n, slot in enumerate(self.slots) if not slot.open}
        self.place = {
            (item, number): self.model.new_bool_var("")
            for number, slot in enumerate(self.slots)
            for item in task.makes[slot.make].sizes
        }
        by_item: dict[int, list[Any]] = {item: [] for item in range(task.items)}
        for (item, _), literal in self.place.items():
            by_item[item].append(literal)
        for literals in by_item.values():
            self.model.add_exactly_one(literals)
        for number, slot in enumerate(self.slots):
            if not slot.open:
                self._machine(number, slot)
        for row in task.rows:
            self._limit(row.fixed, row.each, row.most)
        self.model.minimize(self._sum(*self._worths()))

    def _machine(self, number: int, slot: Slot) -> None:
        make, on, model = self.task.makes[slot.make], self.on[number], self.model
        here = {item: self.place[item, number] for item in make.sizes}
        for literal in here.values():
            model.add_implication(literal, on)
        if make.single:
            model.add_at_most_one(here.values())
        for resource, most in enumerate(make.capacity):
            amounts = [round(self.scale * make.sizes[item][resource]) for item in here]
            if math.isfinite(most) and sum(amounts) > self.scale * most:
                load = cp_model.LinearExpr.weighted_sum(list(here.values()), amounts)
                model.add(load <= round(self.scale * most) * on)
        for one, other in self.task.pairs(make):
            model.add_at_most_one(here[one], here[other])
        if slot.unit and self.slots[number - 1].make == slot.make:
            model.add_implication(on, self.on[number - 1])

    def _limit(self, fixed: tuple[float, ...], each: tuple[Any, ...], most: float) -> None:
        """Keep a limit on the whole, in parts of it rounded up, so that what is kept here is kept."""
        part = FINE / most if most > 0.0 else FINE
        machines = [math.ceil(part * fixed[self.slots[number].make] - 1e-9) for number in self.on]
        items = []
        for item, number in self.place:
            slot = self.slots[number]
            counted = each[slot.make].get(item, 0.0) + (fixed[slot.make] if slot.open else 0.0)
            items.append(math.ceil(part * counted - 1e-9))
        self.model.add(self._sum(machines, items) <= math.floor(part * most))

    def _worths(self) -> tuple[list[int], list[int]]:
        makes = self.task.makes
        machines = [round(self.worth_scale * makes[self.slots[number].make].fixed) for number in self.on]
        items = []
        for item, number in self.place:
            slot = self.slots[number]
            make = makes[slot.make]
            worth = make.each.get(item, 0.0) + (make.fixed if slot.open else 0.0)
            items.append(round(self.worth_scale * worth))
        return machines, items

    def _sum(self, machines: list[int], items: list[int]) -> Any:
        return cp_model.LinearExpr.weighted_sum(
            [*self.on.values(), *self.place.values()], [*machines, *items]
        )


def _whole(task: Task) -> bool:
    figures = [figure for make in task.makes for size in make.sizes.values() for figure in size]
    figures += [make.fixed for make in task.makes]
    return all(float(figure).is_integer() for figure in figures) and not any(make.each for make in task.makes)


class _Watch(cp_model.CpSolverSolutionCallback):  # type: ignore[misc]
    def __init__(self, code: Code, teller: Teller) -> None:
        super().__init__()
        self.code, self.teller = code, teller

    def on_solution_callback(self) -> None:
        """Tell the solution's worth and the bound."""
        constant, scale = self.code.task.constant, self.code.worth_scale
        self.teller.better(
            self.objective_value / scale + constant, self.best_objective_bound / scale + constant
        )


def _run(job: Job, teller: Teller) -> None:
    assert job.task is not None
    code = Code(job.task)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(0.01, job.seconds - teller.seconds)
    solver.parameters.num_workers = job.cores
    solver.parameters.random_seed = job.seed
    constant, scale = job.task.constant, code.worth_scale
    solver.best_bound_callback = lambda bound: teller.better(None, bound / scale + constant)
    status = solver.solve(code.model, _Watch(code, teller))
    filling = None
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        filling = filling_of(code.slots, [p for p, literal in code.place.items() if solver.value(literal)])
    bound = solver.best_objective_bound / scale + constant if filling is not None else None
    teller.last(status == cp_model.OPTIMAL, bound, filling)


if __name__ == "__main__":
    serve(_run)
