"""The front of sound, power and money as data: its points, and whether they are all there are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from planner.domain.conflict import Conflict
from planner.domain.plan import Outcome, Plan
from planner.domain.site import Site
from planner.placement.studies.local_upper_bounds import Values


class Scale(StrEnum):
    """What the sound axis measures: dB over the listeners' targets, or dBA at the loudest listener."""

    TARGETS = "over the targets"
    ABSOLUTE = "at the loudest listener"


@dataclass(frozen=True)
class Point:
    """A plan that none on the front beats: its values on the axes, and the plan with what is proven of it.

    ``sound`` is in dB over the targets or in dBA, in steps of 0.5; ``power_w`` is the year's mean, ``cost``
    money and work. ``proven``: no plan at all is as good in all three and better in one.
    """

    sound: float
    power_w: float
    cost: float
    plan: Plan

    @property
    def values(self) -> Values:
        """The point on the three axes."""
        return self.sound, self.power_w, self.cost

    @property
    def proven(self) -> bool:
        """Whether it is proven that nothing beats the point."""
        return self.plan.proven


@dataclass(frozen=True)
class Front:
    """Points from the quietest to the loudest, and whether they are all there are.

    ``complete``: every point is there and proven. Else ``stopped_by`` says why not, and ``zones`` how many
    zones are still unknown. ``conflicts``: why no plan can exist, where there is no point. ``confirmed``:
    whether each proof was shown by more than one run of a solver; ``contradictions``: where such runs
    disagreed.
    """

    site: Site
    scale: Scale
    points: tuple[Point, ...]
    outcome: Outcome
    zones: int = 0
    stopped_by: str = ""
    conflicts: tuple[Conflict, ...] = ()
    seconds: float = 0.0
    confirmed: bool = True
    contradictions: tuple[str, ...] = ()

    @property
    def complete(self) -> bool:
        """Whether every point is there and proven."""
        return self.outcome is Outcome.PROVEN


def empty_front(site: Site, scale: Scale | None = None) -> Front:
    """Make the front of a site before any point is found; the scale is that of the targets where any is."""
    targeted = any(item.target_dba is not None for item in site.listeners)
    scale = scale or (Scale.TARGETS if targeted else Scale.ABSOLUTE)
    return Front(on_scale(site, scale), scale, (), Outcome.STOPPED_EMPTY)


def on_scale(site: Site, scale: Scale) -> Site:
    """Copy the site whose sound aim is the front's axis: no confidence, and no targets where absolute."""
    absolute = scale is Scale.ABSOLUTE
    listeners = tuple(
        replace(item, confidence=None, target_dba=None if absolute else item.target_dba)
        for item in site.listeners
    )
    return replace(site, listeners=listeners)
