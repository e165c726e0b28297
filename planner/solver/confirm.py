"""A second road to a proof: what one run of one solver claims is shown once more by something independent.

A claim is that a programme has no point of at most some value. It is shown by dual prices of its relaxation,
added up anew without a solver; else by CBC, which shares no code with HiGHS; else by HiGHS without its
presolve, where its false answers arose (1.14.0 and 1.15.1 called values optimal that are not). Small claims
go to CBC first, large ones to HiGHS.

Why so: 1.15.1 once called 5 the least where 4 is possible. A claim is shown on the second core while the
solve goes on; a refuted one becomes a plan, and the solve goes on from it without presolve.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, replace
from enum import StrEnum

import highspy
import numpy as np

from planner.solver.cbc import solve_cbc
from planner.solver.duality import dual_bound, proves_empty
from planner.solver.highs import highs_options, listen
from planner.solver.silent import SilentHighs
from planner.solver.solution import Limits
from planner.solver.standard_form import Floats, StandardForm

SMALL = 4_000
"""Coefficients up to which CBC is asked before HiGHS; above, it takes three times as long."""

FIRST_SHARE = 0.5
"""Share of the time that the first of the two solvers may take."""

RELAX_S = 5.0
"""Most seconds for a relaxation."""

HELD, CLEARLY = 1e-6, 1e-9
"""By how much, as a share of its amounts, a row may be broken by a point that counts against a claim, and by
one that leaves no doubt."""


class Road(StrEnum):
    """What a claim was shown by."""

    PRICES = "dual prices"
    OTHER_SOLVER = "a second solver"
    NO_PRESOLVE = "a second run without presolve"


@dataclass(frozen=True)
class Claim:
    """That no point of a form is worth at most ``below``; without a finite ``below`` that it has no point.

    ``solver``: the one that claims it, whose other is asked first.
    """

    form: StandardForm
    below: float = np.inf
    solver: str = "highs"

    def is_clearly_refuted_by(self, point: Floats) -> bool:
        """Say whether a point is worth at most ``below`` and keeps all rows, with no solver's tolerance."""
        point = np.where(self.form.whole, np.round(point), point)
        return self.form.value_at(point) <= self.below and keeps_rows(self.form, point, CLEARLY)


@dataclass(frozen=True)
class Verdict:
    """By what a claim was shown, or the point, (columns,), that refutes it, or neither: it stays open."""

    shown_by: Road | None = None
    refuted_by: Floats | None = None

    @property
    def is_open(self) -> bool:
        """True when the claim was neither shown nor refuted."""
        return self.shown_by is None and self.refuted_by is None


def confirm(claim: Claim, limits: Limits, cancel: threading.Event | None = None) -> Verdict:
    """Show a claim by an independent road, or refute it by a point; open where neither came in time."""
    until = time.monotonic() + limits.time_s
    if _shown_by_prices(claim, limits, cancel):
        return Verdict(Road.PRICES)
    form = claim.form.at_most(claim.below) if np.isfinite(claim.below) else claim.form
    form = replace(form, cost=np.zeros(len(form.cost)), offset=0.0)  # any point will do
    for number, road in enumerate(_roads(claim)):
        left_s = until - time.monotonic()
        if left_s <= 0.0 or (cancel is not None and cancel.is_set()):
            break
        given = replace(limits, time_s=left_s if number else FIRST_SHARE * left_s, absolute_gap=0.0)
        look = _by_cbc if road is Road.OTHER_SOLVER else _without_presolve
        is_empty, point = look(form, given, cancel)
        if is_empty:
            return Verdict(road)
        if point is not None and keeps_rows(form, point):
            return Verdict(refuted_by=point)
    return Verdict()


def _roads(claim: Claim) -> tuple[Road, ...]:
    if claim.solver == "cbc":
        return (Road.NO_PRESOLVE,)
    both = (Road.OTHER_SOLVER, Road.NO_PRESOLVE)
    return both if claim.form.size <= SMALL else both[::-1]


def keeps_rows(form: StandardForm, point: Floats, held: float = HELD) -> bool:
    """Say whether a point, its whole numbers rounded, keeps all rows and bounds but for rounding."""
    point = np.where(form.whole, np.round(point), point)
    sums = form.rows_at(point)
    amounts = replace(form, factors=np.abs(form.factors)).rows_at(np.abs(point))
    sides = np.minimum(np.abs(form.row_lower), np.abs(form.row_upper))
    slack = held * (1.0 + amounts + np.where(np.isfinite(sides), sides, 0.0))
    rows = (sums >= form.row_lower - slack) & (sums <= form.row_upper + slack)
    bounds = (point >= form.lower - held) & (point <= form.upper + held)
    return bool(rows.all() and bounds.all())


def _shown_by_prices(claim: Claim, limits: Limits, cancel: threading.Event | None) -> bool:
    """Say whether dual prices of the relaxation, added up anew, show a claim."""
    solver = SilentHighs()
    options = highs_options(replace(limits, time_s=min(limits.time_s, RELAX_S)))
    for option, value in {**options, "presolve": "off", "solver": "simplex"}.items():
        solver.setOptionValue(option, value)
    solver.passModel(claim.form.as_highs(relaxed=True))
    listen(solver, cancel, None, 0.0)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        _, has_ray, ray = solver.getDualRay()
        if not has_ray:
            return False
        multipliers = np.array(ray, float)
        return proves_empty(claim.form, multipliers) or proves_empty(claim.form, -multipliers)
    if status != highspy.HighsModelStatus.kOptimal or not np.isfinite(claim.below):
        return False
    return dual_bound(claim.form, np.array(solver.getSolution().row_dual, float)) > claim.below


def _by_cbc(form: StandardForm, limits: Limits, cancel: threading.Event | None) -> tuple[bool, Floats | None]:
    """Ask CBC for any point; whether it says there is none, and the point it found."""
    began = time.monotonic()
    found = solve_cbc(form, limits, cancel)
    if found is None or time.monotonic() - began >= limits.time_s:
        return False, None if found is None else found.point
    return found.status == "Infeasible", found.point


def _without_presolve(
    form: StandardForm, limits: Limits, cancel: threading.Event | None
) -> tuple[bool, Floats | None]:
    """Ask HiGHS without presolve, from another seed, for any point."""
    solver = SilentHighs()
    options = highs_options(replace(limits, seed=limits.seed + 1, relative_gap=0.0))
    for option, value in {**options, "presolve": "off", "mip_max_improving_sols": 1}.items():
        solver.setOptionValue(option, value)
    solver.passModel(form.as_highs())
    listen(solver, cancel, None, 0.0)
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    if status == highspy.HighsModelStatus.kInfeasible:
        return True, None
    has_point = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    return False, np.array(solver.getSolution().col_value, float) if has_point else None
