"""The room, the listeners, the seasons, the supply and the cooling options to the domain.

Why so: a cooler holds a set point: the usual 24 °C where none is written, no warmer than the inlet limit,
and said so. One that never stopped would chill a room to -40 °C, and the plan would call that met.
"""

from __future__ import annotations

from planner.domain.air import Cooling, Removal, Room, Season
from planner.domain.machines import Circuit, Supply
from planner.domain.sound import Element, Listener, Partition, Surface
from planner.inventory.models.places import (
    BehindModel,
    CircuitModel,
    CoolingModel,
    ElementLossModel,
    ElementModel,
    ListenerModel,
    RoomModel,
    SeasonModel,
    SupplyModel,
    SurfaceModel,
)
from planner.inventory.resolve.recorder import Recorder, percent
from planner.inventory.resolve.sound import resolve_sound
from planner.inventory.text.units import Size
from planner.physics.absorption import ABSORPTION
from planner.physics.bands import OCTAVE_HZ, Bands
from planner.physics.elements import OPENING_TL_DB, TRANSMISSION_LOSS
from planner.physics.heat import AIR_FILM_M2_K_W, GYPSUM_12MM_M2_K_W, STUD_CAVITY_M2_K_W, wall_u_w_m2_k
from planner.physics.partitions import ceiling_path_bands
from planner.physics.power import CONTINUOUS_SHARE, circuit_continuous_w
from planner.physics.sound import directivity_q

LEAK_CHANGES_H = 0.5
OTHER_ROOM_ABSORPTION = 0.2
AIR_CONDITIONER_DUTY = 0.6
USUAL_SETPOINT_C = 24.0
"""What the thermostat of a cooler is taken to hold where nobody says; from memory."""

CEILING_PATH = "ceiling path"
SUMMER_C, WINTER_C, HALF_YEAR_H = 26.0, 21.0, 4380.0
MAINS_V = 230.0
PRICE_KWH = 0.30
LIGHT_WALL_U_W_M2_K = wall_u_w_m2_k(
    [AIR_FILM_M2_K_W, GYPSUM_12MM_M2_K_W, STUD_CAVITY_M2_K_W, GYPSUM_12MM_M2_K_W, AIR_FILM_M2_K_W]
)


def resolve_surface(name: str, model: SurfaceModel) -> Surface:
    """Make a surface with its absorption."""
    return Surface(name, model.area_m2, model.absorption or ABSORPTION[model.material or ""])


def _bare_surfaces(size: Size) -> tuple[Surface, ...]:
    rows = (
        ("floor", size.floor_m2, "linoleum"),
        ("ceiling", size.floor_m2, "ceiling-plasterboard"),
        ("walls", size.walls_m2, "gypsum-board"),
    )
    return tuple(Surface(name, area_m2, ABSORPTION[material]) for name, area_m2, material in rows)


def resolve_room(model: RoomModel, recorder: Recorder) -> Room:
    """Make the room; what is left out follows from its size."""
    size, assumed = model.size, set()
    if model.surfaces:
        surfaces = tuple(resolve_surface(name, item) for name, item in model.surfaces.items())
    else:
        surfaces = _bare_surfaces(size)
        assumed.add("surfaces")
        recorder.note(
            "room.surfaces", "vinyl floor, plasterboard walls and ceiling", "bare room of that size"
        )
    ua_w_k = LIGHT_WALL_U_W_M2_K * size.surface_m2
    leak_m3_s = LEAK_CHANGES_H * size.volume_m3 / 3600.0
    assumed |= {
        word for word, given in (("ua_w_k", model.ua_w_k), ("leak_m3_s", model.leak_m3_s)) if given is None
    }
    why = f"light partitions on all six sides, {LIGHT_WALL_U_W_M2_K:.1f} W/(m2 K), from memory"
    return Room(
        length_m=size.length_m,
        width_m=size.width_m,
        height_m=size.height_m,
        surfaces=surfaces,
        ua_w_k=recorder.take(model.ua_w_k, ua_w_k, "room.heat_loss", f"{ua_w_k:.0f} W/K", why),
        leak_m3_s=recorder.take(
            model.leak_m3_s,
            leak_m3_s,
            "room.leak",
            f"{leak_m3_s * 3600:.0f} m3/h",
            "half an air change an hour by gaps, from memory",
        ),
        altitude_m=recorder.take(model.altitude_m, 0.0, "room.altitude", "0 m", "sea level"),
        rack_u=model.rack_u,
        assumed=frozenset(assumed),
        heat_capacity_j_k=model.heat_capacity_j_k,
    )


def resolve_loss(model: ElementLossModel | ElementModel) -> Bands:
    """Find the transmission loss of a part of a partition."""
    return model.loss_db or TRANSMISSION_LOSS[model.material or ""]


def _element(name: str, model: ElementModel) -> Element:
    if model.gap_m2 is not None:
        return Element(name, model.gap_m2, OPENING_TL_DB)
    return Element(name, model.area_m2 or 0.0, resolve_loss(model))


def _partition(model: BehindModel, path: str, recorder: Recorder) -> tuple[Partition, bool]:
    elements = [_element(name, item) for name, item in model.elements.items()]
    if model.ceiling_cac_db is not None:
        # CAC is referred to the wall's area: as one more element of that area its energy simply adds.
        wall_m2 = sum(element.area_m2 for element in elements)
        elements.append(Element(CEILING_PATH, wall_m2, ceiling_path_bands(model.ceiling_cac_db)))
    share = recorder.take(
        model.room.absorption,
        OTHER_ROOM_ABSORPTION,
        f"{path}.behind.room.absorption",
        percent(OTHER_ROOM_ABSORPTION),
        "furnished office, common practice",
    )
    absorption_m2 = (share * model.room.size.surface_m2,) * len(OCTAVE_HZ)
    return Partition(tuple(elements), absorption_m2), model.room.absorption is None


def resolve_listener(name: str, model: ListenerModel, recorder: Recorder) -> Listener:
    """Make a listener, inside or behind a partition."""
    path = f"listeners.{name}"
    partition, assumed = None, False
    if model.behind is not None:
        partition, assumed = _partition(model.behind, path, recorder)
    return Listener(
        name=name,
        target_dba=model.target_dba,
        distance_m=model.distance_m or 1.0,
        directivity_q=directivity_q(model.sources_stand),
        partition=partition,
        background_dba=model.background_dba,
        use=model.use,
        confidence=model.confidence,
        assumed=frozenset({"absorption"} if assumed else ()),
    )


def resolve_seasons(model: dict[str, SeasonModel] | None, recorder: Recorder) -> tuple[Season, ...]:
    """Make the seasons, summer and winter by default."""
    if model:
        return tuple(
            Season(name, item.surroundings_c, item.hours, item.quiet, item.dew_point_c)
            for name, item in model.items()
        )
    written = (
        f"summer {SUMMER_C:.0f} °C and winter {WINTER_C:.0f} °C around the room, {HALF_YEAR_H:.0f} h each"
    )
    recorder.note("seasons", written, "an office that is heated and not much cooled")
    return Season("summer", SUMMER_C, HALF_YEAR_H), Season("winter", WINTER_C, HALF_YEAR_H)


def _circuit(name: str, model: CircuitModel, recorder: Recorder) -> Circuit:
    path = f"supply.circuits.{name}"
    volts = recorder.take(model.volts, MAINS_V, f"{path}.volts", f"{MAINS_V:.0f} V", "usual mains voltage")
    share = recorder.take(
        model.share,
        CONTINUOUS_SHARE,
        f"{path}.share",
        percent(CONTINUOUS_SHARE),
        "rule for loads of three hours and more; local code decides",
    )
    return Circuit(name, volts, model.breaker_a, circuit_continuous_w(model.breaker_a, volts, share))


def resolve_supply(model: SupplyModel, any_on_ups: bool, recorder: Recorder) -> Supply:
    """Make the supply; without a UPS its efficiency is 1."""
    circuits = tuple(_circuit(name, item, recorder) for name, item in model.circuits.items())
    usual = 0.93 if any_on_ups else 1.0
    why = "line-interactive, 90 to 95 %" if any_on_ups else "nothing hangs on a UPS"
    price = recorder.take(
        model.price_kwh, PRICE_KWH, "supply.price", f"{PRICE_KWH}", "placeholder: write yours"
    )
    return Supply(
        circuits=circuits,
        price_kwh=price,
        ups_efficiency=recorder.take(
            model.ups_efficiency, usual, "supply.ups_efficiency", percent(usual), why
        ),
        co2_kg_per_kwh=model.co2_kg_per_kwh,
        ups_wh=model.ups_wh,
    )


def _removal(model: CoolingModel, seasons: tuple[Season, ...]) -> dict[str, Removal]:
    if model.takes_out_w is not None:
        names = model.works_in if model.works_in is not None else [season.name for season in seasons]
        return {name: Removal(capacity_w=model.takes_out_w) for name in names}
    around_c = {season.name: season.surroundings_c for season in seasons}
    return {
        name: Removal(
            flow_m3_s=item.flow_m3_s,
            supply_c=around_c[name] if item.supply_c is None else item.supply_c,
            recirculation=1.0 if item.recirculation is None else item.recirculation,
        )
        for name, item in (model.air or {}).items()
    }


def _guessed(model: CoolingModel) -> set[str]:
    left_out = {"duty"} if model.duty is None else set()
    return left_out | ({"setpoint"} if model.takes_out_w is not None and model.setpoint_c is None else set())


def _setpoint_c(model: CoolingModel, limit_c: float, path: str, recorder: Recorder) -> float | None:
    """Look up what a chiller's thermostat holds; air has none. A chiller that never stopped would freeze."""
    if model.takes_out_w is None:
        return model.setpoint_c
    usual_c = min(USUAL_SETPOINT_C, limit_c)
    why = "usual thermostat, no warmer than the inlet limit; write what yours is set to"
    return recorder.take(model.setpoint_c, usual_c, f"{path}.setpoint", f"{usual_c:g} °C", why)


def resolve_cooling(
    name: str,
    model: CoolingModel,
    circuit: str,
    seasons: tuple[Season, ...],
    limit_c: float,
    recorder: Recorder,
) -> Cooling:
    """Make a cooling option: a chiller of some watts, or air by season; ``limit_c`` is the inlet limit."""
    path = f"cooling.{name}"
    chiller = model.takes_out_w is not None
    heard = resolve_sound(model.sound, "ac_portable" if chiller else "hvac_diffuser", path, recorder)
    duty = AIR_CONDITIONER_DUTY if chiller else 1.0
    why = "compressor cycles, common practice" if chiller else "air runs all the time"
    stays = 0.0 if chiller else 1.0
    reason = "its heat goes out with its exhaust" if chiller else "the fan's heat stays in the air it brings"
    return Cooling(
        name=name,
        owned=model.owned or bool(model.runs_today),
        power_w=recorder.take(model.power_w, 0.0, f"{path}.power", "0 W", "the building's own fans drive it"),
        sound=heard.sound,
        circuit=circuit,
        removal=_removal(model, seasons),
        runs_today=frozenset(model.runs_today),
        duty=recorder.take(model.duty, duty, f"{path}.duty", percent(duty), why),
        heats_room=recorder.take(model.heats_room, stays, f"{path}.heats_room", percent(stays), reason),
        setpoint_c=_setpoint_c(model, limit_c, path, recorder),
        price=model.price,
        hours=model.hours,
        requires=frozenset(model.requires),
        excludes=frozenset(model.excludes),
        cautions=model.cautions,
        assumed=heard.assumed | _guessed(model),
    )
