"""When a run stops and what it gives, whichever solver ran."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

import pulp


class Ending(StrEnum):
    """How a run ended."""

    PROVEN = "proven"
    STOPPED = "stopped with a solution"
    EMPTY = "stopped without a solution"
    INFEASIBLE = "infeasible"
    FAILED = "failed"


@dataclass(frozen=True)
class Limits:
    """When a run stops: seconds, gaps, or a solution as good as ``target``; ``seed`` makes it repeatable.

    ``below``: what solutions are to be worth at most; others need not be found. ``presolve``: whether
    HiGHS may rewrite a programme first, where its false answers arose. ``nodes``: most nodes of the search
    tree, a limit that is the same on every machine.
    """

    time_s: float = 60.0
    relative_gap: float = 0.0
    absolute_gap: float = 1e-6
    seed: int = 0
    solver: str = "highs"
    target: float | None = None
    below: float | None = None
    presolve: bool = True
    nodes: int | None = None


@dataclass(frozen=True)
class Answer:
    """What a run gave: values by variable name (whole numbers rounded), objective, bound."""

    ending: Ending
    values: Mapping[str, float]
    objective: float
    bound: float
    seconds: float

    @property
    def found(self) -> bool:
        """True when there is a solution."""
        return self.ending in (Ending.PROVEN, Ending.STOPPED)


Watch = Callable[[float, float, float], None]
"""Called with best, bound and seconds while a run goes on."""


def rounded(variables: list[pulp.LpVariable], found: list[float]) -> dict[str, float]:
    return {
        v.name: float(round(value)) if v.cat == pulp.LpInteger else float(value)
        for v, value in zip(variables, found, strict=True)
    }


def value_of(objective: pulp.LpAffineExpression, values: Mapping[str, float]) -> float:
    return float(objective.constant + sum(c * values[v.name] for v, c in objective.items()))
