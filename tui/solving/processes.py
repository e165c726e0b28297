"""Solving and ordering in processes of their own: the screen stays quick, and a death takes nothing along."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.worker import Helper

if TYPE_CHECKING:
    from planner.moves.tasks.progress import Progress as Done
    from planner.placement.result import Options, Progress, Result
    from planner.report.why.page import WhyPage
    from tui.solving.analyses import Afterwork
    from tui.solving.background import Last

PATIENCE_S = 0.35
"""Seconds that a solver is given to answer a cancel, after which it is ended and what it told of is kept."""


class ApartSolver(Helper):
    """A solver in a process of its own."""

    def __init__(self) -> None:
        super().__init__(("tui.solving.work",), PATIENCE_S)

    def __call__(
        self,
        site: Site,
        options: Options | None = None,
        *,
        last: Last | None = None,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        """Plan as `tui.solving.work.plan_site`; where the process dies, the best plan told is kept."""
        # Here, where nobody waits for it: whoever knows these knows the solver.
        from planner.placement.result import Options
        from planner.placement.studies.reoptimise import still_known
        from planner.placement.worker import solve_apart

        asked = options or Options()
        work = ("tui.solving.work:planned", (site, asked, last))
        if last is not None:
            asked = replace(asked, previous=still_known(site, last.plan.state))
        return solve_apart(self, site, asked, cancel=cancel, watch=watch, work=work)


class ApartAfterworker(Helper):
    """Works out waves, ladder and peaks in a process of its own."""

    def __call__(self, site: Site, plan: Plan, progress: Done | None = None) -> Afterwork:
        """Work as `tui.solving.analyses.afterwork`; HelperGoneError when the process dies."""
        answer: Afterwork = self.ask("tui.solving.work:worked_out", (site, plan, progress))
        return answer


class ApartWhy(Helper):
    """Works out why a service goes where it goes in a process of its own."""

    def __call__(
        self, site: Site, plan: Plan, service: str, time_s: float, cancel: threading.Event | None = None
    ) -> WhyPage:
        """Work as `tui.solving.work.why` does; HelperGoneError when the process dies or is closed."""
        answer: WhyPage = self.ask("tui.solving.work:explained", (site, plan, service, time_s), cancel)
        return answer
