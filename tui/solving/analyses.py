"""What is worked out once a plan stands: the waves of its moves, the ladder from its machines, its peaks."""

from __future__ import annotations

from dataclasses import dataclass

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.moves import Options as Timing
from planner.moves.tasks.progress import Progress
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse, first_day
from planner.placement.studies.coincident_peaks import has_profiles, peaks
from planner.quieting import CannotQuietError, Quieting, climb, settled
from planner.report.moves.build import course_page
from planner.report.moves.page import MovesPage
from planner.report.plan.peaks import PeaksEntry, peaks_entry
from planner.report.quiet.build import quiet_page
from planner.report.quiet.page import QuietPage


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


def afterwork(site: Site, plan: Plan, progress: Progress | None = None) -> Afterwork:
    """Order the moves of a plan, climb the ladder from its machines, and compare its peaks."""
    course = OrderInUse(site, plan.state, progress or Progress())
    if course.strange():
        course = OrderInUse(site, plan.state)
    page = course_page(course, str(plan.outcome), _arranged(course))
    return Afterwork(page, _ladder(site, plan), _peaks(site, plan))


def _arranged(course: OrderInUse) -> ArrangedOrder:
    """Give the order that is worked from, or else the one that ``moves`` would make."""
    kept = course.kept()
    if kept is not None and not kept.breaches:
        return kept
    return course.arrange(Timing(start=first_day(course)))


def _ladder(site: Site, plan: Plan) -> QuietPage | None:
    try:
        base = settled(site, plan.state)
    except CannotQuietError:
        return None
    return quiet_page(Quieting(base, climb(base), None, None), "machines of the plan")


def _peaks(site: Site, plan: Plan) -> PeaksEntry | None:
    if not has_profiles(site) or plan.stopped_by == "interrupted":
        return None
    return peaks_entry(peaks(site, plan), site.currency)
