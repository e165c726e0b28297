"""What is worked out once a plan stands: the waves of its moves, and the ladder from its machines."""

from __future__ import annotations

from dataclasses import dataclass

from planner.moves import order
from planner.plan import Plan
from planner.quieting import CannotQuietError, Quieting, climb, settled
from planner.report.ladder_build import quiet_page
from planner.report.ladder_page import QuietPage
from planner.report.moves_page import MovesPage, moves_page
from planner.site import Site


@dataclass(frozen=True)
class Afterwork:
    """The pages that ``moves`` and ``quiet`` print for a plan; ``quiet`` is None where there is none."""

    moves: MovesPage
    quiet: QuietPage | None = None

    @property
    def windows(self) -> int:
        """How many maintenance windows the moves take."""
        return len(self.moves.waves)


def afterwork(site: Site, plan: Plan) -> Afterwork:
    """Order the moves of a plan, and climb the ladder from its machines."""
    return Afterwork(moves_page(site, str(plan.outcome), order(site, plan.state)), _ladder(site, plan))


def _ladder(site: Site, plan: Plan) -> QuietPage | None:
    try:
        base = settled(site, plan.state)
    except CannotQuietError:
        return None
    return quiet_page(Quieting(base, climb(base), None, None), "machines of the plan")
