"""The one door to the planning model."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass

from planner.plan import Outcome, Plan
from planner.site import Aim, Site
from planner.state import State


@dataclass(frozen=True)
class Options:
    """How to solve: seconds for all aims together, seed, solver ('highs' or 'cbc'), relative gap asked.

    ``aims`` overrides the site's order. ``start`` is a state to start from, ``fixed`` one whose
    services must stay on the machines it gives them.
    """

    time_s: float = 60.0
    seed: int = 0
    solver: str = "highs"
    gap: float = 0.0
    aims: tuple[Aim, ...] | None = None
    start: State | None = None
    fixed: State | None = None


@dataclass(frozen=True)
class Progress:
    """Where a running solve stands."""

    aim: Aim
    best: float | None
    bound: float | None
    seconds: float


@dataclass(frozen=True)
class Result:
    """What a solve gave: a checked plan or none, how it ended, and, where no plan can exist, why."""

    outcome: Outcome
    plan: Plan | None
    reasons: tuple[str, ...] = ()
    seconds: float = 0.0


def solve(
    site: Site,
    options: Options | None = None,
    *,
    cancel: threading.Event | None = None,
    watch: Callable[[Progress], None] | None = None,
) -> Result:
    """Plan a site: aims in order, each held while the next improves; every plan has passed the judge."""
    raise NotImplementedError
