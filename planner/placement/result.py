"""What is asked of a solve, what it tells on its way, and what it gives."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from planner.domain.conflict import Conflict
from planner.domain.plan import Outcome, Plan
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.verify import verify_plan


@dataclass(frozen=True)
class Options:
    """How to solve: seconds for all aims together, seed, solver ('highs' or 'cbc'), relative gap asked.

    ``aims`` overrides the site's order. ``start`` is a state to start from, ``fixed`` one whose
    services must stay on the machines it gives them. ``previous``: an earlier plan's state, from which
    changes are counted instead of from today.
    """

    time_s: float = 60.0
    seed: int = 0
    solver: str = "highs"
    gap: float = 0.0
    aims: tuple[Aim, ...] | None = None
    start: State | None = None
    fixed: State | None = None
    previous: State | None = None


@dataclass(frozen=True)
class Progress:
    """Where a running solve stands: the aim in hand, its best value and bound, seconds since the start.

    ``state``: the plan of that value, which the judge has passed; None where the value is that of pools
    yet to be packed. ``ruled_out_by``: no plan can exist, and what shows that beside one run of a solver (''
    where nothing does); what would have to give way is still sought.
    """

    aim: Aim
    best: float | None
    bound: float | None
    seconds: float
    state: State | None = None
    ruled_out_by: str | None = None


@dataclass(frozen=True)
class Result:
    """What a solve gave: a checked plan or none, how it ended, and, where no plan can exist, its conflicts.

    ``confirmed_by``: what shows, beside one run of a solver, that no plan can exist. ``failure``: what ended
    a solve that cannot say whether there is one. ``lost``: what ended the process it was to come from, where
    it is what was told before.
    """

    outcome: Outcome
    plan: Plan | None
    conflicts: tuple[Conflict, ...] = ()
    seconds: float = 0.0
    confirmed_by: str = ""
    contradictions: tuple[str, ...] = ()
    failure: str = ""
    lost: str = ""


class TooManyVariantsError(ValueError):
    """The measures on a target allow more combinations than the model enumerates."""

    def __init__(self, conflict: Conflict) -> None:
        super().__init__(conflict)
        self.conflict = conflict


class RejectedPlanError(AssertionError):
    """The judge rejects a plan that the model made: a bug of ours, never shown as a plan."""


class Solve(Protocol):
    """What solves a site: `planner.placement.solve.solve`, or one that does so in a worker's process."""

    def __call__(
        self,
        site: Site,
        options: Options | None = None,
        *,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        """Find a checked plan, or why there is none."""
        ...


def refuse_rejected(site: Site, plan: Plan) -> None:
    """Raise RejectedPlanError where the judge rejects a plan."""
    breaches = verify_plan(site, plan)
    if breaches:
        raise RejectedPlanError("; ".join(f"{item.rule} {item.where}: {item.message}" for item in breaches))
