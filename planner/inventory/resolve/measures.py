"""Quieting measures to the domain.

Why so: a measure takes no more watts off than its target draws idle, the same at every load, so that
nothing draws less than 0 W and the programme stays linear. What the library calls usual is cut to 40 % of
it.
"""

from __future__ import annotations

from planner.domain.measures import Measure, RoomEffect, SourceEffect
from planner.domain.site import Site
from planner.inventory.models.measures import MeasureModel
from planner.inventory.resolve.fans import fan_change, reduction_db
from planner.inventory.resolve.places import resolve_loss, resolve_surface
from planner.inventory.resolve.recorder import Recorder, percent
from planner.inventory.resolve.sound import resolve_sound
from planner.physics.bands import Bands

FALLBACK_CLASS = "appliance_lownoise"
FAN_CAUTION = "fan-swap"
NO_REDUCTION_DB = (0.0,) * 8
MOST_USUAL_SAVING = 0.4
"""Share of a source's draw that a usual measure saves at most; from memory, two disks of a small box."""


def least_draws_w(site: Site) -> dict[str, float]:
    """Look up what each thing that a measure may act on draws at least, W: a box when idle."""
    draws = {box.name: box.spec.idle_w for box in site.boxes}
    draws.update((gear.name, gear.power_w) for gear in site.gear)
    draws.update((option.name, option.power_w) for option in site.cooling)
    return draws


def resolve_measure(name: str, model: MeasureModel, drawn_w: float, recorder: Recorder) -> Measure:
    """Make a measure with its effect on a source or on the room; ``drawn_w`` is its target's least draw."""
    if model.library is not None:
        why = f"as usual for '{model.library}', common practice"
        recorder.note(f"measures.{name}", ", ".join(sorted(model.from_library)) or "nothing", why)
    source_effect, assumed = (
        _source_effect(name, model, drawn_w, recorder) if model.on_source else (None, frozenset[str]())
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
    """List the cautions that are written, and the one that every change of fans brings."""
    with_fans = (*model.cautions, FAN_CAUTION) if model.fans is not None else model.cautions
    return tuple(dict.fromkeys(with_fans))


def _power_delta_w(name: str, model: MeasureModel, drawn_w: float, recorder: Recorder) -> float:
    """Compute a change of power: one that is only usual is cut to a share of what a small source draws."""
    written_w = model.power_delta_w or 0.0
    least_w = -MOST_USUAL_SAVING * drawn_w
    if written_w >= least_w or "power" not in model.from_library:
        return written_w
    why = f"usual {written_w:g} W, but no more than {percent(MOST_USUAL_SAVING)} of what it draws"
    recorder.note(f"measures.{name}.power", f"{least_w:.3g} W", why)
    return least_w


def _source_effect(
    name: str, model: MeasureModel, drawn_w: float, recorder: Recorder
) -> tuple[SourceEffect, frozenset[str]]:
    heard = resolve_sound(model.sound, FALLBACK_CLASS, f"measures.{name}", recorder) if model.sound else None
    effect = SourceEffect(
        reduction_db=_reduction_db(name, model, recorder),
        sound=heard.sound if heard else None,
        power_delta_w=_power_delta_w(name, model, drawn_w, recorder),
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
