"""The exact programme over all windows: written with every bound that is known, held to the true states."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pulp

from planner.moves.bounds.packing_duals import PackingDuals
from planner.moves.bounds.time_windows import TimeWindows
from planner.moves.figures.polynomials import Poly
from planner.moves.grid.evaluation import find_strains
from planner.moves.grid.time_grid import Assignment
from planner.moves.scheduling.formulation import Model
from planner.moves.scheduling.limit_rows import add_limits
from planner.moves.scheduling.problem import SearchProblem
from planner.solver import Answer, Ending, Limits, run


@dataclass
class ExactProgramme:
    """A problem over all its windows; ``cuts`` counts the waves that the true states refused."""

    problem: SearchProblem
    prices: PackingDuals
    cuts: int = 0

    def build(self, within: TimeWindows, bounds: Sequence[float] = (), poly: Poly | None = None) -> Model:
        """Build the programme within time windows, with packing prices and the bounds of a figure as rows."""
        model = Model(self.problem.grid, within.earliest, within.latest, is_whole=True)
        add_limits(model, known=self.problem.limits)
        names = self.problem.grid.names
        for number, price in enumerate(self.prices.known[1:]):
            valued = [(n, float(v)) for n, v in zip(names, price.values, strict=True) if v]
            for index in model.windows:
                terms = [(model.is_done(name, index), value) for name, value in valued]
                model.at_most(f"price {number}@{index}", terms, float(price.until[index]) + 1e-6)
        if poly is not None:
            for index in model.windows:
                open_terms, constant = model.build_linear(poly, index)
                room = constant - bounds[index] + 1e-6 * max(1.0, abs(bounds[index]))
                model.at_most(f"floor@{index}", [(v, -c) for v, c in open_terms], room)
        return model

    def solve(
        self,
        model: Model,
        objective: pulp.LpAffineExpression,
        limits: Limits,
        rows: Mapping[str, pulp.LpConstraint],
        start: Assignment | None,
    ) -> tuple[Answer, Assignment | None]:
        """Minimise; an answer that the true states refuse is shut out and the search goes on."""
        until, grid = time.monotonic() + limits.time_s, self.problem.grid
        known = None if start is None else model.start(start)
        while True:
            limits = replace(limits, time_s=until - time.monotonic())
            cancel = self.problem.cancel
            answer = run(model.program, objective, limits, extra=rows, start=known, cancel=cancel)
            if not answer.found:
                return answer, None
            at = model.read(answer.values)
            batches = grid.batches(at)
            bad = find_strains(grid.work, batches)
            if not bad:
                return answer, at
            if self.cuts >= self.problem.params.most_cuts:
                return Answer(Ending.FAILED, {}, answer.objective, answer.bound, answer.seconds), None
            self.cuts += 1
            for index, _ in bad:
                done = {name for batch in batches[:index] for name in batch}
                for window in model.windows:
                    model.shut_out(self.cuts, window, done, batches[index], bad=index)
