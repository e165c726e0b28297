"""What is worked out apart from the screen: a plan, from the last one where there is one; and why pages."""

from __future__ import annotations

import threading
from collections.abc import Callable

from planner.placement.again import solve_again
from planner.placement.asked import Options, Progress, Result
from planner.placement.forced import forced
from planner.placement.solve import solve
from planner.plan import Plan
from planner.report.why_page import WhyPage, why_page
from planner.site import Site
from tui.solving import Last


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
