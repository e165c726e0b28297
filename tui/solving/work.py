"""What is worked out apart from the screen: a plan, from the last one where there is one; and why pages."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.placement.result import Options, Progress, Result
from planner.placement.solve import solve
from planner.placement.studies.forced_assignment import forced
from planner.placement.studies.reoptimise import solve_again
from planner.report.why.page import WhyPage, why_page
from tui.solving.background import Last

if TYPE_CHECKING:
    from planner.moves.tasks.progress import Progress as Done
    from tui.solving.analyses import Afterwork


def plan_site(
    site: Site,
    options: Options | None = None,
    *,
    last: Last | None = None,
    cancel: threading.Event | None = None,
    watch: Callable[[Progress], None] | None = None,
) -> Result:
    """Plan a site, from the last plan where there is one, so that it differs only where it must."""
    if last is None:
        return solve(site, options, cancel=cancel, watch=watch)
    return solve_again(last.site, last.plan, site, options, cancel=cancel, watch=watch)


def why(
    site: Site, plan: Plan, service: str, time_s: float, cancel: threading.Event | None = None
) -> WhyPage:
    """Say why a service goes where it goes, and what each other machine would change."""
    found = forced(site, plan, service, Options(time_s=time_s), cancel=cancel)
    return why_page(site, plan, service, found)


def planned(
    site: Site,
    options: Options,
    last: Last | None,
    cancel: threading.Event,
    tell: Callable[[Progress], None],
) -> Result:
    """Do what the screen asks the solver's process."""
    return plan_site(site, options, last=last, cancel=cancel, watch=tell)


def worked_out(
    site: Site,
    plan: Plan,
    progress: Done | None,
    cancel: threading.Event,
    tell: Callable[[object], None],
) -> Afterwork:
    """Do what the screen asks the process for waves, ladder and peaks."""
    del cancel, tell
    # A process for plans has no use for these.
    from tui.solving.analyses import afterwork

    return afterwork(site, plan, progress)


def explained(
    site: Site,
    plan: Plan,
    service: str,
    time_s: float,
    cancel: threading.Event,
    tell: Callable[[object], None],
) -> WhyPage:
    """Do what the screen asks the process for why pages."""
    del tell
    return why(site, plan, service, time_s, cancel)
