"""What the measures taken on a target change about it."""

from __future__ import annotations

import math
from collections.abc import Iterable

from planner.domain.measures import ROOM, RoomEffect, SourceEffect
from planner.domain.site import Site
from planner.domain.sound import Sound


def taken_on(site: Site, target: str, measures: Iterable[str]) -> list[str]:
    """Look up the measures among ``measures`` that act on a target, in the site's order."""
    chosen = frozenset(measures)
    return [item.name for item in site.measures if item.target == target and item.name in chosen]


def source_effects(site: Site, target: str, measures: Iterable[str]) -> list[SourceEffect]:
    """Look up what the measures taken on a source do, in the site's order."""
    effects = [site.measure[name].source_effect for name in taken_on(site, target, measures)]
    return [effect for effect in effects if effect is not None]


def room_effects(site: Site, measures: Iterable[str]) -> list[RoomEffect]:
    """Look up what the measures taken on the room do, in the site's order."""
    effects = [site.measure[name].room_effect for name in taken_on(site, ROOM, measures)]
    return [effect for effect in effects if effect is not None]


def quieted(site: Site, target: str, base: Sound, measures: Iterable[str]) -> Sound | None:
    """Compute a source's sound under the measures taken on it; None when one takes it out of the room.

    A measure that brings another sound replaces the base first; reductions then add up band by band.
    """
    effects = source_effects(site, target, measures)
    if any(effect.takes_out for effect in effects):
        return None
    for effect in effects:
        base = effect.sound or base
    off = [math.fsum(effect.reduction_db[band] for effect in effects) for band in range(len(base.idle_db))]
    if not any(off):
        return base
    return Sound(
        idle_db=tuple(level - less for level, less in zip(base.idle_db, off, strict=True)),
        loaded_db=tuple(level - less for level, less in zip(base.loaded_db, off, strict=True)),
        origin=base.origin,
        plus_minus_db=base.plus_minus_db,
        inlet_steps=base.inlet_steps,
    )


def power_change_w(site: Site, target: str, least_w: float, measures: Iterable[str]) -> float:
    """Compute by how many watts the measures on a target change its draw, at any load.

    ``least_w`` is what it draws at least (a machine: idle). No more than that can be taken off, so that
    nothing draws less than 0 W, and the change is the same at every load; what is removed draws nothing.
    """
    effects = source_effects(site, target, measures)
    if any(effect.removes for effect in effects):
        return -least_w
    return max(-least_w, math.fsum(effect.power_delta_w for effect in effects))
