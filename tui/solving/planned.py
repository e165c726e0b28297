"""A plan together with the site it was made for, and what it says, worked out once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from planner.domain.plan import Outcome, Plan
from planner.domain.site import Site
from planner.ledger import Ledger, ledger, today_ledger
from planner.report.plan.page import PlanPage


@dataclass(frozen=True)
class Planned:
    """A checked plan for a site, and the seconds it took."""

    site: Site
    plan: Plan
    seconds: float = 0.0

    @cached_property
    def page(self) -> PlanPage:
        """Everything the commands print of it."""
        from planner.report.plan.build import plan_page

        return plan_page(self.site, self.plan)

    @cached_property
    def today(self) -> Ledger:
        """The ledger of today."""
        return today_ledger(self.site)

    @cached_property
    def then(self) -> Ledger:
        """The ledger once all is done."""
        return ledger(self.site, self.plan.state)

    @property
    def is_sure(self) -> bool:
        """Whether it is proven, or within the gap that was asked for."""
        return self.plan.outcome in (Outcome.PROVEN, Outcome.WITHIN_GAP)
