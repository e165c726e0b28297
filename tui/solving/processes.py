"""Planning, ordering and explaining in worker processes: the screen stays quick, a death loses nothing."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.worker import Worker

if TYPE_CHECKING:
    from planner.moves.tasks.progress import Progress as Done
    from planner.placement.result import Options, Progress, Result
    from planner.report.why.page import WhyPage
    from tui.solving.analyses import Afterwork
    from tui.solving.background import Last


class ApartSolver(Worker):
    """Plans a site, from the last plan where there is one, so that it differs only where it must."""

    def __init__(self) -> None:
        super().__init__(("planner.placement.solve",))

    def __call__(
        self,
        site: Site,
        options: Options | None = None,
        *,
        last: Last | None = None,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        """Make a checked plan, or why there is none; where the process dies, the best plan told is kept."""
        # Here, where nobody waits for it: whoever knows these knows the solver.
        from planner.placement.worker import solve_again_apart, solve_apart

        if last is None:
            return solve_apart(self, site, options, cancel=cancel, watch=watch)
        return solve_again_apart(self, last.site, last.plan, site, options, cancel=cancel, watch=watch)


class ApartAfterworker(Worker):
    """Works out waves, ladder and peaks."""

    def __call__(self, site: Site, plan: Plan, progress: Done | None = None) -> Afterwork:
        """Work as `tui.solving.analyses.afterwork`; WorkerLostError when the process dies or is closed."""
        answer: Afterwork = self.run("tui.solving.analyses:afterwork", site, plan, progress)
        return answer


class ApartWhy(Worker):
    """Works out why a service goes where it goes."""

    def __call__(
        self, site: Site, plan: Plan, service: str, time_s: float, cancel: threading.Event | None = None
    ) -> WhyPage:
        """Work as `tui.solving.analyses.why`; WorkerLostError when the process dies or is closed."""
        answer: WhyPage = self.run("tui.solving.analyses:why", site, plan, service, time_s, cancel=cancel)
        return answer
