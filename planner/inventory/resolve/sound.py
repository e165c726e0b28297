"""Written sound to octave bands of sound power."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.domain.air import Room
from planner.domain.sound import Sound
from planner.inventory.defaults.equipment_classes import CLASSES, LEAST_PLUS_MINUS_DB, EquipmentClass
from planner.inventory.models.sound import SoundModel
from planner.inventory.resolve.recorder import Recorder
from planner.inventory.text.levels import Level
from planner.physics.bands import Bands
from planner.physics.fans import INLET_STEPS
from planner.physics.room import inside_transfer_bands, room_constant_bands
from planner.physics.sound import (
    SHAPES,
    a_weighted_total,
    background_uncertainty_db,
    directivity_q,
    lw_from_pressure,
    mean_of_declared,
    shift_bands,
    spectrum_for,
    subtract_background,
)

METER_PLUS_MINUS_DB = 1.5
"""How far one reading of a plain (class 2) sound level meter may be off; from memory of IEC 61672-1."""


@dataclass(frozen=True)
class Resolved:
    """A source's sound, and the names of the figures in it that are assumed."""

    sound: Sound
    assumed: frozenset[str]


def resolve_sound(model: SoundModel | None, fallback: str, path: str, recorder: Recorder) -> Resolved:
    """Make a source's octave bands, from its levels, its class, or the class taken for its sort."""
    if model is None or model.equipment is not None:
        name = model.equipment if model and model.equipment else fallback
        if model is None:
            why = "no sound given; usual range of such equipment, middle taken"
            recorder.note(f"{path}.sound", f"class {name}", why)
        return _from_class(model, CLASSES[name])
    return _from_levels(model, CLASSES[fallback], path, recorder)


def _from_class(model: SoundModel | None, chosen: EquipmentClass) -> Resolved:
    shape = model.spectrum if model and model.spectrum else chosen.shape
    given_steps = model.inlet_steps if model else None
    given_plus_minus = model.plus_minus_db if model else None
    sound = Sound(
        idle_db=spectrum_for(chosen.idle_middle_db, shape),
        loaded_db=spectrum_for(chosen.loaded_middle_db, shape),
        origin="assumed",
        plus_minus_db=chosen.plus_minus_db if given_plus_minus is None else given_plus_minus,
        inlet_steps=given_steps or (INLET_STEPS if chosen.server else ()),
    )
    return Resolved(sound, frozenset({"sound", "spectrum"}))


def _from_levels(model: SoundModel, usual: EquipmentClass, path: str, recorder: Recorder) -> Resolved:
    shape = model.spectrum or usual.shape
    idle, loaded = (_bands(level, shape, model, recorder.room) for level in (model.idle, model.loaded))
    assumed = set() if _all_bands(model) else {"spectrum"}
    if idle is None or loaded is None:
        assumed.add("sound")
        idle, loaded = _both(idle, loaded, usual, path, recorder)
    read = any(level is not None and level.distance_m is not None for level in (model.idle, model.loaded))
    if model.declared == "maximum" and model.kv_db is None:
        why = "an L_WAd is a maximum: conservative; with its kv the mean would be taken"
        recorder.note(f"{path}.sound.declared", "taken as it stands", why)
    sound = Sound(
        idle_db=idle,
        loaded_db=loaded,
        origin="measured" if read or model.measured else "declared",
        plus_minus_db=_plus_minus_db(model),
        inlet_steps=model.inlet_steps or (),
    )
    return Resolved(sound, frozenset(assumed))


def _plus_minus_db(model: SoundModel) -> float:
    """Compute how far a level may be off: as written, K_v, or what is usual, with what subtraction adds."""
    if model.plus_minus_db is not None:
        return model.plus_minus_db
    if model.kv_db is not None:
        return model.kv_db
    apart = [
        background_uncertainty_db(level.lpa_dba, level.off_dba, METER_PLUS_MINUS_DB)
        for level in (model.idle, model.loaded)
        if level is not None and level.lpa_dba is not None and level.off_dba is not None
    ]
    return math.hypot(LEAST_PLUS_MINUS_DB, max(apart)) if apart else LEAST_PLUS_MINUS_DB


def _all_bands(model: SoundModel) -> bool:
    return all(level is None or level.bands_db is not None for level in (model.idle, model.loaded))


def _both(
    idle: Bands | None, loaded: Bands | None, usual: EquipmentClass, path: str, recorder: Recorder
) -> tuple[Bands, Bands]:
    """Fill in the level that is missing with the usual distance between idle and loaded."""
    spread_db = usual.loaded_middle_db - usual.idle_middle_db
    given = idle or loaded or spectrum_for(usual.idle_middle_db, usual.shape)
    word, other = (
        ("loaded", shift_bands(given, spread_db)) if idle else ("idle", shift_bands(given, -spread_db))
    )
    why = f"usual distance of {spread_db:g} dB between idle and loaded"
    recorder.note(f"{path}.sound.{word}", f"{a_weighted_total(other):.0f} dB", why)
    return (given, other) if idle else (other, given)


def _bands(level: Level | None, shape: str, model: SoundModel, room: Room | None) -> Bands | None:
    if level is None or level.bands_db is not None:
        return level.bands_db if level else None
    if level.lpa_dba is None or level.distance_m is None:
        return spectrum_for(_mean_lwa_db(level.lwa_db or 0.0, model), shape)
    alone_dba, background_dba = level.lpa_dba, level.off_dba
    if background_dba is None:
        background_dba = model.background_dba
    if background_dba is not None:
        alone_dba = subtract_background(level.lpa_dba, background_dba)
    if room is not None and (level.off_dba is not None or model.read_in == "room"):
        return _in_room(alone_dba, level.distance_m, shape, model.stood, room)
    return spectrum_for(lw_from_pressure(alone_dba, level.distance_m, model.stood), shape)


def _mean_lwa_db(lwa_db: float, model: SoundModel) -> float:
    """Take the mean of a declaration: an L_WAd less the K it holds; where K is unknown, as it stands."""
    if model.declared != "maximum" or model.kv_db is None:
        return lwa_db
    return mean_of_declared(lwa_db, model.kv_db)


def _in_room(lp_dba: float, distance_m: float, shape: str, stood: str, room: Room) -> Bands:
    """Make the sound power whose direct and reverberant field in the room has a level at a distance."""
    constants = room_constant_bands([(item.area_m2, item.absorption) for item in room.surfaces])
    path = inside_transfer_bands(directivity_q(stood), distance_m, constants)
    there = tuple(band + way for band, way in zip(SHAPES[shape], path, strict=True))
    return shift_bands(SHAPES[shape], lp_dba - a_weighted_total(there))
