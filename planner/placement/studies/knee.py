"""Which point of a front to recommend: the one nearest to the best of everything, and its neighbours."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.placement.studies.front import Front, Point
from planner.placement.studies.local_upper_bounds import Values


@dataclass(frozen=True)
class Knee:
    """The recommended point, the nearest quieter and dearer one, and the nearest louder and cheaper one.

    Dearer and cheaper in money, or in watts where no such point differs in money.
    """

    point: Point
    quieter: Point | None
    louder: Point | None


def knee(front: Front) -> Knee | None:
    """Choose the recommended point, None on an empty front.

    Each axis runs from 0 at its best to 1 at its worst on the front; the point is the one with the least
    distance from 0 on all three, the quieter among equals.
    """
    if not front.points:
        return None
    lows, spans = _extent(front)

    def shares(point: Point) -> Values:
        first, second, third = (
            (value - low) / span if span > 0.0 else 0.0
            for value, low, span in zip(point.values, lows, spans, strict=True)
        )
        return first, second, third

    def apart(point: Point) -> float:
        return math.dist(shares(point), shares(best))

    best = min(front.points, key=lambda point: math.dist(shares(point), (0.0, 0.0, 0.0)))
    quieter = [point for point in front.points if point.sound < best.sound]
    louder = [point for point in front.points if point.sound > best.sound]
    dearer = [point for point in quieter if point.cost > best.cost] or quieter
    cheaper = [point for point in louder if point.cost < best.cost] or louder
    return Knee(best, min(dearer, key=apart, default=None), min(cheaper, key=apart, default=None))


def _extent(front: Front) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Compute the least value and the range of each axis."""
    columns = tuple(zip(*(point.values for point in front.points), strict=True))
    return tuple(min(c) for c in columns), tuple(max(c) - min(c) for c in columns)
