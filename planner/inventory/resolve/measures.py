"""Quieting measures to the domain."""

from __future__ import annotations

from planner.inventory.models.measures import MeasureModel
from planner.inventory.resolve.fans import fan_change, reduction_db
from planner.inventory.resolve.places import resolve_loss, resolve_surface
from planner.inventory.resolve.recorder import Recorder
from planner.inventory.resolve.sound import resolve_sound
from planner.physics.bands import Bands
from planner.site import Measure, RoomEffect, SourceEffect

FALLBACK_CLASS = "appliance_lownoise"
FAN_CAUTION = "fan-swap"
NO_REDUCTION_DB = (0.0,) * 8


def resolve_measure(name: str, model: MeasureModel, recorder: Recorder) -> Measure:
    """Make a measure with its effect on a source or on the room."""
    if model.library is not None:
        why = f"as usual for '{model.library}', common practice"
        recorder.note(f"measures.{name}", ", ".join(sorted(model.from_library)) or "nothing", why)
    source_effect, assumed = (
        _source_effect(name, model, recorder) if model.on_source else (None, frozenset[str]())
    )
    return Measure(
        name=name,
        target=model.target,
        source_effect=source_effect,
        room_effect=_room_effect(model) if model.on_room else None,
        price=model.price,
        hours=model.hours,
        cautions=_cautions(model),
        excludes=frozenset(model.excludes),
        requires=frozenset(model.requires),
        allowed=model.allowed,
        assumed=assumed | model.from_library,
    )


def _cautions(model: MeasureModel) -> tuple[str, ...]:
    """Give the cautions that are written, and the one that every change of fans brings."""
    with_fans = (*model.cautions, FAN_CAUTION) if model.fans is not None else model.cautions
    return tuple(dict.fromkeys(with_fans))


def _source_effect(name: str, model: MeasureModel, recorder: Recorder) -> tuple[SourceEffect, frozenset[str]]:
    heard = resolve_sound(model.sound, FALLBACK_CLASS, f"measures.{name}", recorder) if model.sound else None
    effect = SourceEffect(
        reduction_db=_reduction_db(name, model, recorder),
        sound=heard.sound if heard else None,
        power_delta_w=model.power_delta_w or 0.0,
        removes=bool(model.removes),
        elsewhere=bool(model.elsewhere),
    )
    guessed = frozenset({"quieter"} if model.fans is not None else ())
    return effect, guessed | (heard.assumed if heard else frozenset())


def _reduction_db(name: str, model: MeasureModel, recorder: Recorder) -> Bands:
    if model.fans is None:
        return model.quieter_db or NO_REDUCTION_DB
    change = fan_change(model.fans)
    recorder.note(f"measures.{name}.quieter", change.words, "fan laws, and a floor that stays")
    return (reduction_db(model.fans),) * len(NO_REDUCTION_DB)


def _room_effect(model: MeasureModel) -> RoomEffect:
    return RoomEffect(
        surfaces=tuple(resolve_surface(name, item) for name, item in (model.adds or {}).items()),
        elements={name: resolve_loss(item) for name, item in (model.elements or {}).items()},
        leak_delta_m3_s=model.leak_delta_m3_s or 0.0,
        ua_delta_w_k=model.ua_delta_w_k or 0.0,
    )
