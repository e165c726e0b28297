"""What dual values prove of a linear programme, added up anew (weak duality; Farkas' lemma).

Any dual values give a bound. Those of a solver are taken as a proposal and the bound that follows from them
is added up here, so that no mistake of the solver is in it (after Neumaier and Shcherbina 2004, Safe bounds
in linear and mixed-integer linear programming).
"""

from __future__ import annotations

import numpy as np

from planner.solver.standard_form import Floats, StandardForm

TINY = 1e-9
"""Dual values and reduced costs under this count as 0 where only an infinite bound stands against them."""

ROUNDING = 1e-9
"""What adding up may be off by, as a share of the sum of all amounts."""


def dual_bound(form: StandardForm, duals: Floats) -> float:
    """Compute the bound on the objective that dual values, (rows,), prove; minus infinity where none.

    The value is lowered by what adding up in floating point may be off by.
    """
    return _bound(form, duals, form.cost, form.offset)


def proves_empty(form: StandardForm, ray: Floats) -> bool:
    """Say whether row multipliers, (rows,), prove that no point keeps all rows (Farkas' lemma)."""
    size = float(np.abs(ray).max(initial=0.0))
    if size <= 0.0 or not np.isfinite(size):
        return False
    return _bound(form, ray / size, np.zeros(len(form.cost)), 0.0) > 1e-7


def _bound(form: StandardForm, duals: Floats, cost: Floats, offset: float) -> float:
    unbacked = ((duals > 0.0) & ~np.isfinite(form.row_lower)) | ((duals < 0.0) & ~np.isfinite(form.row_upper))
    duals = np.where(unbacked, 0.0, duals)
    sides = np.where(duals > 0.0, form.row_lower, form.row_upper)
    by_row = np.where(duals != 0.0, duals * np.where(np.isfinite(sides), sides, 0.0), 0.0)
    reduced = cost - form.priced(duals)
    ends = np.where(reduced > 0.0, form.lower, form.upper)
    open_end = ~np.isfinite(ends)
    if bool((open_end & (np.abs(reduced) > TINY)).any()):
        return -np.inf
    by_column = reduced * np.where(open_end, 0.0, ends)
    amounts = float(np.abs(by_row).sum() + np.abs(by_column).sum() + abs(offset))
    return float(by_row.sum() + by_column.sum() + offset) - ROUNDING * amounts
