"""The programme over all windows: written with every bound that is known, and held to the true states."""

from __future__ import annotations

import threading
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
from planner.moves.scheduling.large_neighbourhood import SearchProblem
from planner.moves.scheduling.limit_rows import add_limits
from planner.solver import Answer, Ending, Limits, run

MOST_CUTS = 25


@dataclass
class ExactProgramme:
    """A case over all its windows; ``cuts`` counts the waves that the true states refused."""

    case: SearchProblem
    prices: PackingDuals
    cancel: threading.Event | None = None
    cuts: int = 0

    def model(self, within: TimeWindows, floors: Sequence[float] = (), poly: Poly | None = None) -> Model:
        """Write the programme within a reach, with what prices and the floors of a figure say."""
        model = Model(self.case.grid, within.earliest, within.latest, is_whole=True)
        add_limits(model, known=self.case.limits)
        names = self.case.grid.names
        for number, price in enumerate(self.prices.known[1:]):
            for index in model.windows:
                terms = [
                    (model.is_done(n, index), float(v)) for n, v in zip(names, price.values, strict=True) if v
                ]
                model.at_most(f"price {number}@{index}", terms, float(price.until[index]) + 1e-6)
        if poly is not None:
            for index in model.windows:
                terms, constant = model.linear(poly, index)
                room = constant - floors[index] + 1e-6 * max(1.0, abs(floors[index]))
                model.at_most(f"floor@{index}", [(v, -c) for v, c in terms], room)
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
        until = time.monotonic() + limits.time_s
        while True:
            limits = replace(limits, time_s=until - time.monotonic())
            known = None if start is None else model.start(start)
            answer = run(model.program, objective, limits, extra=rows, start=known, cancel=self.cancel)
            if not answer.found:
                return answer, None
            at = model.read(answer.values)
            bad = find_strains(self.case.grid.work, self.case.grid.batches(at))
            if not bad:
                return answer, at
            if self.cuts >= MOST_CUTS:
                return Answer(Ending.FAILED, {}, answer.objective, answer.bound, answer.seconds), None
            self._shut_out(model, self.case.grid.batches(at), [index for index, _ in bad])

    def _shut_out(self, model: Model, batches: Sequence[set[str]], bad: Sequence[int]) -> None:
        self.cuts += 1
        for index in bad:
            done = {name for batch in batches[:index] for name in batch}
            for at in model.windows:
                model.shut_out(self.cuts, at, done, batches[index], bad=index)
