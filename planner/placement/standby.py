"""Pack alike units so that some stand by nearly empty: what others carried restarts there."""

from __future__ import annotations

import threading
from dataclasses import replace

from planner.milp import Limits
from planner.placement.load import Load
from planner.placement.packing import Packed, pack, tries

FILLED = 0.95
"""Share of a unit that is filled where their number is free, so that a small item fits on top."""

SECONDS = 1.0
"""How long packing into one unit less may take."""

Units = tuple[tuple[int, ...], ...]


def standing_by(load: Load, seed: int, spare: int = 1) -> Units:
    """Give units as lists of items, filled not quite, and ``spare`` more that carry a small item each."""
    loose = Load(load.sizes / FILLED, load.foes)
    return _some_apart(load, tries(loose, seed, count=6), spare)


def packed_standing_by(
    load: Load, units: int, spare: int, limits: Limits, cancel: threading.Event | None = None
) -> Packed | None:
    """Give a quick packing into ``units`` units, ``spare`` of which carry a small item each; or None."""
    if units <= spare:
        return None
    tight = pack(load, units - spare, replace(limits, time_s=min(limits.time_s, SECONDS)), cancel).units
    found = _some_apart(load, tight or (), spare)
    return Packed(found) if len(found) == units else None


def _some_apart(load: Load, units: Units, many: int) -> Units:
    for _ in range(many):
        units = _one_apart(load, units)
    return units


def _one_apart(load: Load, units: Units) -> Units:
    """Put the smallest item that shares a unit and has no foes on a unit of its own, if there is one."""
    sizes = load.sizes.max(axis=1)
    shared = [item for unit in units if len(unit) > 1 for item in unit if not load.foes.get(item)]
    if not shared:
        return units
    alone = min(shared, key=lambda item: (sizes[item], item))
    return (*(tuple(item for item in unit if item != alone) for unit in units), (alone,))
