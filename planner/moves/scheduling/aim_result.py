"""What a schedule reached in an aim, and which bound proves it, as data."""

from __future__ import annotations

from dataclasses import dataclass

from planner.moves.bounds.proof import Proof


@dataclass(frozen=True)
class AimResult:
    """What an aim reached and the bound proven for it: windows, level energy over time, watts, critical.

    ``bound_by`` is the method of that bound.
    """

    name: str
    value: float
    bound: float
    proven: bool
    bound_by: Proof = Proof.NONE

    @property
    def gap(self) -> float:
        """The distance between value and bound."""
        return max(0.0, self.value - self.bound)
