"""What packing costs at least, by a table over all sets of items: for instances small enough for it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Any


def members_of(members: int) -> list[int]:
    """List the items in a set, which is written as the bits of a number."""
    return [item for item in range(members.bit_length()) if members >> item & 1]


def fits(instance: Mapping[str, Any], bin_: Mapping[str, Any], items: Sequence[int]) -> bool:
    """Say whether a bin takes items that do not conflict."""
    foes = {frozenset(pair) for pair in instance["conflicts"]}
    if any(frozenset(pair) in foes for pair in itertools.combinations(items, 2)):
        return False
    load = [sum(column) for column in zip(*(instance["items"][item]["size"] for item in items), strict=True)]
    return all(amount <= most for amount, most in zip(load, bin_["cap"], strict=True))


def cheapest_by_set(instance: Mapping[str, Any]) -> list[float]:
    """List the least cost of bins for every set of items; the last is that of all."""
    full = 2 ** len(instance["items"])
    cost = [math.inf] * full
    for members in range(1, full):
        inside = members_of(members)
        fitting = [float(bin_["cost"]) for bin_ in instance["bins"] if fits(instance, bin_, inside)]
        cost[members] = min(fitting, default=math.inf)
    best = [0.0] + [math.inf] * (full - 1)
    for members in range(1, full):
        first, part = members & -members, members
        while part:
            if part & first and cost[part] < math.inf:
                best[members] = min(best[members], cost[part] + best[members ^ part])
            part = (part - 1) & members
    return best
