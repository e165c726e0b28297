"""Seeded packing instances by published recipes, for machines where no published instance lies about.

Uniform classes 1, 2, 3 and 6, correlated classes 7 and 8 and triplets with a known optimum are recipes of
vector packing; three and five kinds of bin that cost what they hold are those of variable-sized packing;
conflicts follow from a threshold on a figure of each item, so that their density is about what is asked.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

Instance = dict[str, Any]

UNIFORM = {1: (100, 400, 1000), 2: (1, 1000, 1000), 3: (200, 800, 1000), 6: (20, 100, 150)}
"""By class the least and the greatest size, and the capacity."""

KINDS = {3: (100, 120, 150), 5: (60, 80, 100, 120, 150)}
"""By number of kinds the capacities; a bin costs what it holds."""


def uniform(number: int, items: int, dims: int, seed: int = 0) -> Instance:
    """Make a uniform class: every figure of a size drawn by itself."""
    low, high, most = UNIFORM[number]
    rng = random.Random(f"uniform/{number}/{items}/{dims}/{seed}")
    sizes = [[rng.randint(low, high) for _ in range(dims)] for _ in range(items)]
    return _instance(f"recipe class {number} ({items}, {dims}) {seed}", [([most] * dims, 1)], sizes)


def correlated(number: int, items: int, seed: int = 0) -> Instance:
    """Make class 7 (both figures alike) or 8 (one large where the other is small), two resources."""
    rng = random.Random(f"correlated/{number}/{items}/{seed}")
    sizes = []
    for _ in range(items):
        first = rng.randint(20, 99)
        second = first + rng.randint(-10, 10) if number == 7 else rng.randint(110, 130) - first
        sizes.append([first, second])
    return _instance(f"recipe class {number} ({items}, 2) {seed}", [([150, 150], 1)], sizes)


def triplets(items: int, dims: int, seed: int = 0) -> Instance:
    """Make triplets that fill a bin to the brim in every resource: a third as many bins as items are best."""
    rng = random.Random(f"triplets/{items}/{dims}/{seed}")
    sizes = []
    for _ in range(items // 3):
        one, other = ([rng.randint(25, 50) for _ in range(dims)] for _ in range(2))
        sizes += [one, other, [100 - a - b for a, b in zip(one, other, strict=True)]]
    rng.shuffle(sizes)
    name = f"recipe triplets ({len(sizes)}, {dims}) {seed}"
    return _instance(name, [([100] * dims, 1)], sizes) | {
        "best_known": {"value": len(sizes) // 3, "optimal": True}
    }


def kinds(number: int, items: int, low: int = 20, seed: int = 0) -> Instance:
    """Make items of low to 100 (one resource) and three or five kinds of bin that cost what they hold."""
    rng = random.Random(f"kinds/{number}/{items}/{low}/{seed}")
    sizes = [[rng.randint(low, 100)] for _ in range(items)]
    bins = [([most], most) for most in KINDS[number]]
    if max(size[0] for size in sizes) > KINDS[number][-1]:
        raise ValueError("an item is larger than every bin")
    return _instance(f"recipe {number} kinds ({items}, 1, from {low}) {seed}", bins, sizes)


def conflicting(items: int, density: float, several: bool, seed: int = 0) -> Instance:
    """Make items of 20 to 100 of which about a share of all pairs conflict, and one or three kinds of bin."""
    rng = random.Random(f"conflicts/{items}/{density}/{several}/{seed}")
    sizes = [[rng.randint(20, 100)] for _ in range(items)]
    figure = [rng.random() for _ in range(items)]
    pairs = [
        [one, other]
        for other in range(items)
        for one in range(other)
        if (figure[one] + figure[other]) / 2.0 <= density
    ]
    bins = [([most], most) for most in KINDS[3]] if several else [([150], 1)]
    kind = "three kinds" if several else "one kind"
    name = f"recipe conflicts {density}, {kind} ({items}, 1) {seed}"
    return _instance(name, bins, sizes) | {"conflicts": pairs}


def _instance(name: str, bins: list[tuple[list[int], int]], sizes: list[list[int]]) -> Instance:
    return {
        "name": name,
        "dims": len(sizes[0]),
        "bins": [{"cap": capacity, "cost": cost} for capacity, cost in bins],
        "items": [{"size": size, "count": 1} for size in sizes],
        "conflicts": [],
    }


@dataclass(frozen=True)
class Recipe:
    """An instance with the name of its set."""

    set: str
    instance: Instance


def recipes(quick: bool = False, seed: int = 0) -> Iterator[Recipe]:
    """List the instances of the race: small ones only where it is to be quick."""
    small, large = (60, 60) if quick else (60, 120)
    for number, dims in ((1, 5), (2, 3), (3, 3), (6, 5)) if not quick else ((1, 5),):
        yield Recipe("recipes-classes", uniform(number, small, dims, seed))
    for number in (7, 8) if not quick else ():
        yield Recipe("recipes-classes", correlated(number, large, seed))
    yield Recipe("recipes-triplets", triplets(large, 3, seed))
    for count, low in ((3, 20), (5, 1)) if not quick else ((3, 20),):
        yield Recipe("recipes-kinds", kinds(count, 200 if not quick else 100, low, seed))
    for density in (0.2, 0.5, 0.8) if not quick else (0.5,):
        yield Recipe("recipes-conflicts", conflicting(small, density, False, seed))
        yield Recipe("recipes-conflicts", conflicting(100 if not quick else small, density, True, seed))
