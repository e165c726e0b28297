"""From sound power in the room to sound pressure at a listener."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from planner.domain.site import Site
from planner.domain.sound import Bands, Element, Listener, Sound
from planner.ledger.effects import room_effects
from planner.physics import bands, fans, partitions, room, sound
from planner.tolerances import TEMPERATURE_K


def transfer_db(site: Site, listener: Listener, measures: Iterable[str]) -> Bands:
    """Compute Lp at a listener minus Lw of a source, dB by octave band, under the room measures taken.

    Inside: direct plus reverberant field. Behind a partition: reverberant level, composite transmission
    loss and the absorption of the listener's room. The calibration offset is added.
    """
    taken = room_effects(site, measures)
    surfaces = [*site.room.surfaces, *(surface for effect in taken for surface in effect.surfaces)]
    constants = room.room_constant_bands([(item.area_m2, item.absorption) for item in surfaces])
    if listener.partition is None:
        levels = room.inside_transfer_bands(listener.directivity_q, listener.distance_m, constants)
    else:
        changed = {name: loss for effect in taken for name, loss in effect.elements.items()}
        losses = partition_loss_db(listener.partition.elements, changed)
        area = math.fsum(item.area_m2 for item in listener.partition.elements)
        there = room.reverberant_transfer_bands(constants)
        levels = partitions.room_to_room_bands(there, losses, area, listener.partition.absorption_m2)
    return tuple(level + listener.offset_db for level in levels)


def partition_loss_db(elements: Iterable[Element], changed: Mapping[str, Bands]) -> Bands:
    """Compute the composite transmission loss of a partition by band, with some elements' losses replaced."""
    parts = [(item.area_m2, changed.get(item.name, item.loss_db)) for item in elements]
    return partitions.composite_tl_bands(parts)


def heard_energy(levels_db: Bands, transfer: Bands) -> float:
    """Compute the A-weighted energy (10^(dBA/10)) that sound power levels by band bring to a listener."""
    weighted = zip(levels_db, transfer, bands.A_WEIGHTING_DB, strict=True)
    return math.fsum(sound.energy(level + path + weight) for level, path, weight in weighted)


def inlet_factor(source: Sound, inlet_c: float) -> float:
    """Compute the energy factor by which fans are louder at an inlet temperature (staircase of the source).

    Air at the very temperature of a step keeps to that step, whichever way its sum was rounded.
    """
    if not source.inlet_steps:
        return 1.0
    return sound.energy(fans.inlet_rise_db(inlet_c - TEMPERATURE_K, source.inlet_steps))


def source_energy(source: Sound, transfer: Bands, utilisation: float, inlet_c: float) -> float:
    """Compute the energy a source brings to a listener: linear in energy between idle and loaded."""
    idle = heard_energy(source.idle_db, transfer)
    loaded = heard_energy(source.loaded_db, transfer)
    return (idle + utilisation * (loaded - idle)) * inlet_factor(source, inlet_c)


def source_bands(source: Sound, transfer: Bands, utilisation: float, inlet_c: float) -> Bands:
    """Compute the unweighted energies by octave band that a source brings to a listener."""
    factor = inlet_factor(source, inlet_c)
    rows = zip(source.idle_db, source.loaded_db, transfer, strict=True)
    return tuple(
        factor * (sound.energy(idle + path) * (1.0 - utilisation) + sound.energy(loaded + path) * utilisation)
        for idle, loaded, path in rows
    )
