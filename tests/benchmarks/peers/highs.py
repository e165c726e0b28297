"""A programme in a file, solved by HiGHS, which tells each better solution."""

from __future__ import annotations

import math
from pathlib import Path

import highspy

from tests.benchmarks.peers.child import Job, Teller
from tests.benchmarks.peers.solved import Solved

EVERY_S = 1.0
"""Seconds between two tellings of the bound."""


def solve(path: Path, seconds: float, job: Job, teller: Teller, constant: float) -> Solved:
    """Solve; ``constant`` is added to what is told."""
    solver = highspy.Highs()
    options = {"output_flag": False, "time_limit": seconds, "threads": job.cores, "random_seed": job.seed}
    for option, value in {**options, "mip_rel_gap": 0.0, "mip_abs_gap": 1e-6}.items():
        solver.setOptionValue(option, value)
    solver.readModel(str(path))
    told = [-math.inf]

    def improved(event: highspy.highs.HighsCallbackEvent) -> None:
        out = event.data_out
        teller.better(out.objective_function_value + constant, out.mip_dual_bound + constant)

    def going_on(event: highspy.highs.HighsCallbackEvent) -> None:
        if teller.seconds - told[0] > EVERY_S:
            told[0] = teller.seconds
            teller.better(None, event.data_out.mip_dual_bound + constant)

    solver.cbMipImprovingSolution += improved
    solver.cbMipInterrupt += going_on
    solver.run()
    info, model = solver.getInfo(), solver.getLp()
    proven = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    values = dict(zip(model.col_names_, solver.getSolution().col_value, strict=True)) if found else None
    return Solved(values, info.mip_dual_bound + constant, proven)
