"""What is worked out once a plan stands: waves, ladder, peaks, and why pages; a worker process does it."""

from __future__ import annotations

import threading
from dataclasses import dataclass

from planner.domain.plan import INTERRUPTED, Plan
from planner.domain.site import Site
from planner.moves import Options as Timing
from planner.moves.tasks.progress import Progress
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse, first_day
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.coincident_peaks import has_profiles, peaks
from planner.placement.studies.forced_assignment import forced
from planner.quieting import CannotQuietError, Quieting, climb, settled
from planner.report.moves.build import course_page
from planner.report.moves.page import MovesPage
from planner.report.plan.peaks import PeaksEntry, peaks_entry
from planner.report.quiet.build import quiet_page
from planner.report.quiet.page import QuietPage
from planner.report.why.page import WhyPage, why_page


@dataclass(frozen=True)
class Afterwork:
    """What ``moves`` and ``quiet`` print for a plan, and ``plan`` of its peaks; None where there is none."""

    moves: MovesPage
    quiet: QuietPage | None = None
    peaks: PeaksEntry | None = None

    @property
    def windows(self) -> int:
        """How many maintenance windows the moves take."""
        return len(self.moves.waves)


def afterwork(
    site: Site,
    plan: Plan,
    progress: Progress | None = None,
    *,
    cancel: threading.Event | None = None,
) -> Afterwork:
    """Order the moves of a plan, climb the ladder from its machines, and compare its peaks."""
    course = OrderInUse(site, plan.state, progress or Progress())
    if course.strange():
        course = OrderInUse(site, plan.state)
    page = course_page(course, str(plan.outcome), _arranged(course, cancel))
    return Afterwork(page, _ladder(site, plan), _peaks(site, plan, cancel))


def why(
    site: Site,
    plan: Plan,
    service: str,
    time_s: float,
    *,
    cancel: threading.Event | None = None,
) -> WhyPage:
    """Say why a service goes where it goes, and what each other machine would change."""
    found = forced(site, plan, service, Options(time_s=time_s), solve=solve, cancel=cancel)
    return why_page(site, plan, service, found)


def _arranged(course: OrderInUse, cancel: threading.Event | None) -> ArrangedOrder:
    """Find the order that is worked from, or else the one that ``moves`` would make."""
    kept = course.kept()
    if kept is not None and not kept.breaches:
        return kept
    return arrange(course, Timing(start=first_day(course)), cancel)


def _ladder(site: Site, plan: Plan) -> QuietPage | None:
    try:
        base = settled(site, plan.state)
    except CannotQuietError:
        return None
    return quiet_page(Quieting(base, climb(base), None, None), "machines of the plan")


def _peaks(site: Site, plan: Plan, cancel: threading.Event | None) -> PeaksEntry | None:
    if not has_profiles(site) or plan.stopped_by == INTERRUPTED:
        return None
    return peaks_entry(peaks(site, plan, solve=solve, cancel=cancel), site.currency)
