"""What of a front is still unknown: zones under upper bounds, split by every point that is found.

After Klamroth, Lacour and Vanderpooten (2015): the local upper bounds of a set of points. A zone holds what
is better than its bound in every aim; a point inside it splits it, a proof that nothing is inside closes it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

Values = tuple[float, float, float]
"""Values of three aims, each the less the better."""

EVERYWHERE: Values = (math.inf, math.inf, math.inf)


def dominates(left: Values, right: Values, grains: Values) -> bool:
    """Say whether a point is as good in every aim and better in one, by at least half a grain."""
    halves = [grain / 2.0 for grain in grains]
    as_good = all(a <= b + half for a, b, half in zip(left, right, halves, strict=True))
    return as_good and any(a < b - half for a, b, half in zip(left, right, halves, strict=True))


def alike(left: Values, right: Values, grains: Values) -> bool:
    """Say whether two points differ by no more than half a grain in every aim."""
    return all(abs(a - b) <= grain / 2.0 for a, b, grain in zip(left, right, grains, strict=True))


class Region:
    """The zones in which better points may still be; ``grains``: the least steps of the aims."""

    def __init__(self, grains: Values) -> None:
        self.grains = grains
        self.zones: list[Values] = [EVERYWHERE]
        self._empty: list[Values] = []
        self._low = EVERYWHERE
        self._high = (-math.inf, -math.inf, -math.inf)

    def limits(self, zone: Values) -> Values:
        """Compute the greatest values that are still inside a zone."""
        first, second, third = (bound - grain for bound, grain in zip(zone, self.grains, strict=True))
        return first, second, third

    def inside(self, point: Values, zone: Values) -> bool:
        """Say whether a point is inside a zone."""
        return all(p < u - g / 2.0 for p, u, g in zip(point, zone, self.grains, strict=True))

    def split(self, point: Values) -> None:
        """Take from every zone what a point is as good as or better than."""
        self._low = _each(min, self._low, point)
        self._high = _each(max, self._high, point)
        found: list[Values] = []
        for zone in self.zones:
            if self.inside(point, zone):
                found += [_with(zone, index, point[index]) for index in range(3)]
            else:
                found.append(zone)
        self.zones = [zone for zone in _greatest(found) if not self._known_empty(zone)]

    def close(self, zone: Values) -> None:
        """Take away everything under a bound: it is proven that nothing is there."""
        self._empty.append(zone)
        self.zones = [other for other in self.zones if not self._known_empty(other)]

    def largest(self) -> Values:
        """Choose the zone in which most is unknown, the first among equals."""
        return max(self.zones, key=self._size)

    def _known_empty(self, zone: Values) -> bool:
        return any(
            all(u - g / 2.0 <= e for u, e, g in zip(zone, empty, self.grains, strict=True))
            for empty in self._empty
        )

    def _size(self, zone: Values) -> float:
        """Compute the share of the box round all points, edges included, that is under a zone's bound."""
        product = 1.0
        for bound, low, high, grain in zip(zone, self._low, self._high, self.grains, strict=True):
            whole = high - low + grain
            product *= max(0.0, min(bound, high + grain) - low + grain) / whole if whole > 0.0 else 1.0
        return product


def _with(zone: Values, index: int, bound: float) -> Values:
    first, second, third = (bound if place == index else value for place, value in enumerate(zone))
    return first, second, third


def _each(choose: Callable[[float, float], float], left: Values, right: Values) -> Values:
    first, second, third = (choose(a, b) for a, b in zip(left, right, strict=True))
    return first, second, third


def _greatest(zones: Sequence[Values]) -> list[Values]:
    """Leave out every zone that lies inside another."""
    distinct = list(dict.fromkeys(zones))
    return [
        zone
        for zone in distinct
        if not any(
            other != zone and all(a <= b for a, b in zip(zone, other, strict=True)) for other in distinct
        )
    ]
