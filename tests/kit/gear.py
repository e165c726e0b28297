"""Random kinds, gear, sounds and measures for the site generator."""

from __future__ import annotations

import random
from collections.abc import Sequence

from planner.domain.air import Cooling
from planner.domain.machines import Box, Gear, Kind, Role, Spec
from planner.domain.measures import ROOM, Measure, RoomEffect, SourceEffect
from planner.domain.sound import Bands, Sound, Surface

Target = Box | Gear | Cooling

SHAPES: dict[str, Bands] = {
    "small": (-24.5, -18.5, -12.5, -6.5, -8.5, -6.5, -6.5, -7.5),
    "large": (-3.5, -5.5, -3.5, -3.5, -4.5, -7.5, -12.5, -14.5),
}
INLET_STEPS = ((25.0, 0.0), (30.0, 4.5), (35.0, 6.5))
GEAR = ("phone-switch", "core-switch", "firewall", "battery-unit")
KINDS = (
    ("quiet-host", Role.HOST),
    ("small-appliance", Role.APPLIANCE),
    ("disk-tower", Role.TOWER),
    ("large-host", Role.HOST),
)
ROOM_MEASURES = ("wall-panels", "heavy-door", "sealed-gaps", "ceiling-panels")


def sound(rng: random.Random, level_dba: float, shape: str) -> Sound:
    """Make a sound of about a level in dBA, 0 to 6 dB louder under load, sometimes with inlet steps."""
    rise_db = rng.choice((0.0, 3.0, 6.0))
    idle = tuple(level_dba + offset for offset in SHAPES[shape])
    return Sound(
        idle_db=idle,
        loaded_db=tuple(level + rise_db for level in idle),
        origin=rng.choice(("declared", "measured", "assumed")),
        inlet_steps=INLET_STEPS if rng.random() < 0.3 else (),
    )


def kinds(rng: random.Random, count: int, max_units: int) -> tuple[Kind, ...]:
    """List the first kinds of the list, each with 1 up to ``max_units`` units."""
    return tuple(
        Kind(
            name=name,
            role=role,
            spec=_kind_spec(rng, role),
            price=float(rng.choice((1000, 1500)) if role is not Role.APPLIANCE else rng.choice((250, 400))),
            max_units=rng.randint(1, max_units),
            hours=float(rng.choice((0, 2, 4))),
            on_ups=rng.random() < 0.5,
        )
        for name, role in KINDS[:count]
    )


def _kind_spec(rng: random.Random, role: Role) -> Spec:
    small = role is Role.APPLIANCE
    idle_w = 10.0 if small else float(rng.choice((40, 60)))
    return Spec(
        cpu=rng.choice((2.0, 4.0)) if small else rng.choice((8.0, 16.0)),
        cores=4.0 if small else rng.choice((8.0, 12.0)),
        memory_gib=rng.choice((8.0, 16.0)) if small else rng.choice((32.0, 64.0)),
        disk_gb=500.0 if small else 2000.0,
        iops=200.0 if small else 1000.0,
        network_mbps=1000.0,
        idle_w=idle_w,
        peak_w=idle_w * 3.0,
        sound=sound(rng, rng.choice((25.0, 30.0)) if small else rng.choice((38.0, 42.0)), "large"),
        rack_u=0 if small else rng.choice((0, 2)),
        offers=frozenset(part for part in ("usb-dongle", "phone-card") if rng.random() < 0.5),
        zones=rng.choice((1, 2)),
    )


def gear(rng: random.Random, count: int, circuits: Sequence[str]) -> tuple[Gear, ...]:
    """List the first pieces of gear of the list; the phone switch sends power out over its cables."""
    return tuple(
        Gear(
            name=name,
            power_w=float(rng.choice((60, 120, 180))),
            sound=sound(rng, rng.choice((45.0, 52.0, 58.0)), "small"),
            circuit=rng.choice(circuits),
            leaves_room_w=40.0 if name == "phone-switch" else 0.0,
            rack_u=rng.choice((0, 1)),
            on_ups=rng.random() < 0.5,
        )
        for name in GEAR[:count]
    )


def measures(
    rng: random.Random, count: int, room_count: int, targets: Sequence[Target]
) -> tuple[Measure, ...]:
    """List measures on random targets and on the room, some of them tied to or shutting out another."""
    found: list[Measure] = []
    for index in range(count):
        found.append(_source_measure(rng, index, rng.choice(targets), found))
    for name in ROOM_MEASURES[:room_count]:
        found.append(_room_measure(rng, name, found))
    return tuple(found)


def _source_measure(rng: random.Random, index: int, target: Target, others: Sequence[Measure]) -> Measure:
    removable = isinstance(target, Gear)
    sort = rng.choice(("slow-fans", "hood", "new-fans", *(("take-away",) if removable else ())))
    effects = {
        "slow-fans": SourceEffect((6.0,) * 8, power_delta_w=-5.0),
        "hood": SourceEffect((1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 10.0, 10.0)),
        "new-fans": SourceEffect(sound=sound(rng, 48.0, "large")),
        "take-away": SourceEffect(removes=index % 2 == 0, elsewhere=index % 2 == 1),
    }
    return _with_ties(rng, f"{sort}-{target.name}-{index}", target.name, effects[sort], None, others)


def _room_measure(rng: random.Random, name: str, others: Sequence[Measure]) -> Measure:
    door: Bands = (20.0, 26.0, 34.0, 40.0, 48.0, 44.0, 52.0, 52.0)
    effects = {
        "wall-panels": RoomEffect((Surface("wall panels", 6.0, (0.1, 0.2, 0.6, 0.9, 0.9, 0.9, 0.9, 0.9)),)),
        "heavy-door": RoomEffect(elements={"door": door}, leak_delta_m3_s=-0.005),
        "sealed-gaps": RoomEffect(leak_delta_m3_s=-0.01, ua_delta_w_k=-5.0),
        "ceiling-panels": RoomEffect((Surface("baffles", 4.0, (0.2, 0.3, 0.5, 0.8, 0.9, 0.9, 0.9, 0.9)),)),
    }
    return _with_ties(rng, name, ROOM, None, effects[name], others)


def _with_ties(
    rng: random.Random,
    name: str,
    target: str,
    source_effect: SourceEffect | None,
    room_effect: RoomEffect | None,
    others: Sequence[Measure],
) -> Measure:
    tie = frozenset({rng.choice(others).name}) if others else frozenset()
    dice = rng.random()
    return Measure(
        name=name,
        target=target,
        source_effect=source_effect,
        room_effect=room_effect,
        price=float(rng.choice((50, 100, 200))),
        hours=float(rng.choice((0, 1, 3))),
        excludes=tie if dice < 0.15 else frozenset(),
        requires=tie if dice > 0.85 else frozenset(),
        allowed=rng.random() < 0.9,
    )
