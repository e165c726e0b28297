"""The exact front of sound, power and money: what less of one costs in the others.

Each zone of the region still unknown is asked for the least power there, then the least money at that power,
then the least level at both (the ε-constraint method with ties broken). The answer is a point that no plan
beats, and splits the zone; a no closes it, and so does a bound for every zone inside.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import replace

from planner.domain.plan import INTERRUPTED, SOUND_STEP_DB, TIME_LIMIT, Outcome
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.formulation.objectives import objective
from planner.placement.formulation.question_model import grain
from planner.placement.infeasibility.preflight import preflight
from planner.placement.optimise.context import context_of
from planner.placement.params import PARAMS
from planner.placement.result import Options, TooManyVariantsError, refuse_rejected
from planner.placement.studies.bounded_solve import BoundedAnswer, BoundedSolve
from planner.placement.studies.front import Front, Point, Scale, empty_front
from planner.placement.studies.local_upper_bounds import EVERYWHERE, Region, Values, alike, dominates
from planner.solver import Limits

AXES = (Aim.SOUND, Aim.POWER, Aim.COST)
ANCHORS = (
    (Aim.SOUND, Aim.POWER, Aim.COST),
    (Aim.POWER, Aim.COST, Aim.SOUND),
    (Aim.COST, Aim.POWER, Aim.SOUND),
)
"""The first points: the quietest, the most frugal and the cheapest, each with the others as tie-breaks."""

INSIDE = (Aim.POWER, Aim.COST, Aim.SOUND)


def tradeoff(
    site: Site,
    options: Options | None = None,
    scale: Scale | None = None,
    most: int | None = None,
    *,
    cancel: threading.Event | None = None,
    watch: Callable[[Front], None] | None = None,
) -> Front:
    """Find the front of a site, ``most`` points of it at most, the farthest apart first.

    ``scale`` is that of the targets where any listener has one. A target's confidence is left aside: levels
    are the foretold ones. ``watch`` hears of the front so far. Raises RejectedPlanError when the judge
    rejects what the solver found.
    """
    began, none = time.monotonic(), empty_front(site, scale)
    found = preflight(none.site)
    if found:
        seconds = time.monotonic() - began
        return replace(none, outcome=Outcome.INFEASIBLE, conflicts=found, seconds=seconds)
    try:
        search = Search(none.site, options or Options(), cancel)
    except TooManyVariantsError as error:
        seconds = time.monotonic() - began
        return replace(none, outcome=Outcome.FAILED, conflicts=(error.conflict,), seconds=seconds)

    def tell() -> None:
        if watch is not None:
            watch(replace(search.front(none.scale), seconds=time.monotonic() - began))

    search.run(most, tell)
    return replace(search.front(none.scale), seconds=time.monotonic() - began)


class Search:
    """The search for a front: one model, the points found, and what is still unknown."""

    def __init__(self, site: Site, options: Options, cancel: threading.Event | None) -> None:
        limits = Limits(time_s=options.time_s, seed=options.seed, solver=options.solver)
        self.site, self.cancel = site, cancel
        self.solver = BoundedSolve(context_of(site, limits, cancel))
        step, params = grain(objective(self.solver.context.formulation.model, Aim.COST)), PARAMS.studies
        self.region = Region((SOUND_STEP_DB, params.power_grain_w, max(step, params.cost_grain)))
        self.points: list[Point] = []
        self.infeasible = False
        self.confirmed = True
        self.stopped_by = ""

    def run(self, most: int | None, tell: Callable[[], None]) -> None:
        """Find points until nothing is unknown, enough are found, or the time is up."""
        for order in ANCHORS:
            if self.going(most) and not self.infeasible:
                self.ask(EVERYWHERE, order)
                tell()
        while self.region.zones and not self.infeasible and self.going(most):
            self.ask(self.region.largest(), INSIDE)
            tell()

    def going(self, most: int | None) -> bool:
        """Say whether to go on; what stops is noted."""
        if not self.stopped_by and self.cancel is not None and self.cancel.is_set():
            self.stopped_by = INTERRUPTED
        if not self.stopped_by and time.monotonic() >= self.solver.context.budget.deadline:
            self.stopped_by = TIME_LIMIT
        if not self.stopped_by and most is not None and len(self.points) >= most and self.region.zones:
            self.stopped_by = f"the {most} points asked for"
        return not self.stopped_by

    def ask(self, zone: Values, order: tuple[Aim, ...]) -> None:
        """Ask a zone for its best point in an order of aims, and take what the answer tells."""
        limits = {
            aim: value
            for aim, value in zip(AXES, self.region.limits(zone), strict=True)
            if math.isfinite(value)
        }
        found = self.solver.within(limits, order)
        if found.state is None:
            if found.empty:
                self.infeasible = not limits
                self.confirmed = self.confirmed and bool(found.shown_by)
                self.region.close(zone)
            elif self.going(None):
                self.stopped_by = "the solver gave no answer"
            return
        self.take(zone, found)

    def take(self, zone: Values, found: BoundedAnswer) -> None:
        """Take a point: the first aim's bound closes part of the zone, the point splits what is left."""
        value = {result.aim: result.value for result in found.results}
        plan = found.plan(self.solver.context.budget.stopped_by())
        refuse_rejected(self.site, plan)
        point = Point(value[Aim.SOUND], value[Aim.POWER], value[Aim.COST], plan)
        first = found.results[0]
        if first.aim is Aim.SOUND and first.proven:
            self.solver.least_db = max(self.solver.least_db, first.bound)
        self.region.close(_under(zone, AXES.index(first.aim), first.bound))
        self.region.split(point.values)
        if not any(alike(other.values, point.values, self.region.grains) for other in self.points):
            self.points.append(point)

    def front(self, scale: Scale) -> Front:
        """Build the front of what was found, without what another point beats."""
        grains = self.region.grains
        kept = [
            point
            for point in self.points
            if not any(dominates(other.values, point.values, grains) for other in self.points)
        ]
        outcome = Outcome.PROVEN
        if not kept:
            outcome = Outcome.INFEASIBLE if self.infeasible else Outcome.STOPPED_EMPTY
        elif self.region.zones or not all(point.proven for point in kept):
            outcome = Outcome.STOPPED_WITH_PLAN
        ordered = tuple(sorted(kept, key=lambda point: point.values))
        return Front(
            self.site,
            scale,
            ordered,
            outcome,
            len(self.region.zones),
            self.stopped_by,
            confirmed=self.confirmed and all(point.plan.confirmed for point in ordered),
            contradictions=tuple(self.solver.context.contradictions),
        )


def _under(zone: Values, index: int, bound: float) -> Values:
    """Compute the part of a zone under a bound on one axis."""
    first, second, third = (
        min(value, bound) if place == index else value for place, value in enumerate(zone)
    )
    return first, second, third
