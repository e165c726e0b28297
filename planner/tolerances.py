"""How near two figures must be to count as the same: the one policy of model, ledger and judge.

Figures that people write are round, so states lie exactly on limits all the time, while sums of floats miss
by their last digits and solvers keep rows only to 1e-6. Hence two rings about every limit:

- The *ledger* and the *judge* take a figure up to the outer ring for one that keeps the limit: a share of the
  limit (`SHARE`), a bit of a decibel (`LEVEL_DB`), a bit of a kelvin (`TEMPERATURE_K`). All lie far under
  what can be measured, and far over what sums of floats miss by.
- The *model* asks for no more than the inner ring: the limit itself where its rows are in watts, money or
  capacity, which a solver then passes by up to `SOLVER`; the outer ring less `SOLVER_SHARE` where a row is
  scaled to 1. So whatever the model accepts, the judge accepts, and a state on the limit is one of the model.

Between the rings lies what the judge would pass and the model does not look for: under a millionth of a
limit, a hundred-thousandth of a decibel.
"""

from __future__ import annotations

SHARE = 1e-6
"""Share of a limit (of 1 for smaller ones) by which a sum may be over it."""

LEVEL_DB = 1e-4
"""By how much a level may be over its target, or over a step of half a decibel; meters show 0.1 dB."""

TEMPERATURE_K = 1e-4
"""By how much air may be warmer than a limit, or than the step at which fans speed up."""

SOLVER = 1e-6
"""By how much a solver may pass a row, in the row's own unit (the solvers' default)."""

SOLVER_SHARE = 3e-6
"""What a row scaled to 1 keeps back, so that what a solver passes it by stays under the outer ring."""

PROVEN_SHARE = 1e-4
"""Share of a value (of 1 for smaller ones) that its bound may lie under it where it is called proven."""

BOUND_SHARE = 1e-6
"""Share of a value by which a bound may lie over it: both are sums of floats."""


def exceeds(value: float, limit: float) -> bool:
    """Compare a sum with its limit; a value that is no number is over it."""
    return not value <= widened(limit)


def widened(limit: float) -> float:
    """Compute the largest figure that still counts as keeping a limit."""
    return limit + SHARE * max(1.0, abs(limit))
