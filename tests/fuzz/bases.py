"""Valid inventories that mutants are made from, small ones mostly: shipped, generated, and with every key."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from planner.inventory import InventoryError, load_text, schema
from planner.inventory.text.yaml_tree import parse
from tests.fuzz.site_data import random_inventory
from tests.fuzz.trees import Pairs, containers, copied, tree_of, written
from tests.inventory.base import EXAMPLES, SMALL

EVERY_KEY = Path(__file__).with_name("every_key.yaml")
SHIPPED = (
    "cannot-be-planned",
    "hottest-days",
    "no-spare-machine",
    "small-office",
    "two-hosts",
    "full-of-mistakes",
)
RANDOM_SITES = 48
SLIM_OF_EACH = 4
"""How many small files are cut out of each large one."""

CUTS = 16
"""How many cuts are tried to make one small file."""

ANY = "*"
Pattern = tuple[Any, ...]


@dataclass(frozen=True)
class Bases:
    """Trees of valid files, and what stands under every key anywhere: ``donors`` by pattern, then by key."""

    small: Sequence[Pairs]
    large: Sequence[Pairs]
    donors: Mapping[Pattern, Mapping[Any, Sequence[Any]]]
    scalars: Sequence[Any]
    keys: Sequence[str]


@lru_cache(maxsize=1)
def known_keys() -> frozenset[str]:
    """Look up every key that the schema knows, whatever section it belongs to."""
    found: set[str] = set()

    def walk(part: Any) -> None:
        if isinstance(part, dict):
            found.update(part.get("properties", {}))
            for value in part.values():
                walk(value)
        elif isinstance(part, list):
            for value in part:
                walk(value)

    walk(schema())
    return frozenset(found)


def pattern(path: tuple[Any, ...]) -> Pattern:
    """Write a path without the names that are the person's own."""
    return tuple(part if part in known_keys() else ANY for part in path)


@lru_cache(maxsize=1)
def bases(folder: Path) -> Bases:
    """Build all bases; ``folder`` holds the files that some of them name."""
    texts = [(EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8") for name in SHIPPED]
    large = [tree_of(parse(text, "").data) for text in (EVERY_KEY.read_text(encoding="utf-8"), *texts)]
    small = [tree_of(parse(SMALL, "").data)]
    drawn = [tree_of(random_inventory(seed)) for seed in range(RANDOM_SITES)]
    small += [tree for tree in drawn if _is_usable(tree, folder)]
    usable = [tree for tree in large if _is_usable(tree, folder)]
    small += [_slim(tree, seed, folder) for tree in usable for seed in range(SLIM_OF_EACH)]
    trees = [*small, *large]
    scalars = [value for tree in trees for _, box in containers(tree) for value in _scalars(box)]
    return Bases(small, large, _donors(trees), scalars, sorted(known_keys()))


def _is_usable(tree: Pairs, folder: Path) -> bool:
    try:
        load_text(written(tree), folder / "base.yaml")
    except InventoryError:
        return False
    return True


def _slim(tree: Pairs, seed: int, folder: Path) -> Pairs:
    """Cut random entries out of a valid file as long as it stays valid (greedy reduction)."""
    rng = random.Random(seed)
    for _ in range(CUTS):
        cut = copied(tree)
        places = [box for path, box in containers(cut) if box and len(path) < 2]
        box = rng.choice(places)
        for _ in range(rng.randint(1, 4)):
            if box:
                del box[rng.randrange(len(box))]
        tree = cut if _is_usable(cut, folder) else tree
    return tree


def _scalars(box: Any) -> list[Any]:
    values = [value for _, value in box] if isinstance(box, Pairs) else box
    return [value for value in values if not isinstance(value, list)]


def _donors(trees: Sequence[Pairs]) -> dict[Pattern, dict[Any, list[Any]]]:
    donors: dict[Pattern, dict[Any, list[Any]]] = {}
    for tree in trees:
        for path, box in containers(tree):
            if isinstance(box, Pairs):
                keys = donors.setdefault(pattern(path), {})
                for key, value in box:
                    keys.setdefault(key, []).append(value)
    return donors
