"""One small site written by hand, with figures that can be added up in the head."""

from __future__ import annotations

from planner.domain.air import Cooling, Removal, Room, Season
from planner.domain.machines import Box, Circuit, Gear, Kind, Role, Spec, Supply
from planner.domain.measures import ROOM, Measure, RoomEffect, SourceEffect
from planner.domain.resources import Demand
from planner.domain.rules import Policy
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Element, Listener, Partition, Sound, Surface


def flat_sound(level_db: float, loaded_db: float | None = None) -> Sound:
    """Make a sound with the same level in every octave band."""
    return Sound((level_db,) * 8, (level_db if loaded_db is None else loaded_db,) * 8)


def demand(cpu: float, memory_gib: float, disk_gb: float = 100.0, vcpu: float = 2.0) -> Demand:
    """Make a demand of one value per resource, with 50 IOPS and 20 Mbit/s."""
    return Demand((cpu,), (vcpu,), (memory_gib,), (disk_gb,), (50.0,), (20.0,))


def _spec(cpu: float, memory_gib: float, idle_w: float, peak_w: float, level_db: float, u: int = 0) -> Spec:
    return Spec(
        cpu=cpu,
        cores=cpu,
        memory_gib=memory_gib,
        disk_gb=2000.0,
        iops=1000.0,
        network_mbps=1000.0,
        idle_w=idle_w,
        peak_w=peak_w,
        sound=flat_sound(level_db),
        rack_u=u,
    )


def plain_site() -> Site:
    """Make a clinic's server room: two loud boxes, three services, a switch, a split unit, four measures.

    Today ``alder`` (bare, 100 to 200 W, 60 dB a band) carries records-db and mail, ``birch`` (a host
    today, 80 to 160 W, 50 dB) carries files. A quiet host, an appliance and a tower may be bought.
    """
    return Site(
        name="clinic",
        currency="EUR",
        room=_room(),
        listeners=_listeners(),
        seasons=(Season("summer", 25.0, 3000.0), Season("winter", 20.0, 5760.0)),
        supply=Supply((Circuit("circuit-a", 230.0, 16.0, 2944.0),), price_kwh=0.25, ups_efficiency=0.8),
        cooling=_cooling(),
        policy=Policy(
            headroom={"cpu": 0.25, "memory_gib": 0.2},
            host_memory_gib=4.0,
            guest_memory_gib=0.5,
            host_cpu_share=0.1,
            labour_per_hour=50.0,
            inlet_limit_c=27.0,
        ),
        boxes=_boxes(),
        services=(
            Service("records-db", "alder", demand(2.0, 16.0)),
            Service("mail", "alder", demand(1.0, 8.0)),
            Service("files", "birch", demand(0.5, 4.0, 400.0)),
        ),
        gear=(
            Gear("phone-switch", 100.0, flat_sound(50.0), "circuit-a", leaves_room_w=40.0, rack_u=1),
            Gear("core-switch", 40.0, flat_sound(40.0), "circuit-a", rack_u=1, on_ups=True),
        ),
        kinds=_kinds(),
        measures=_measures(),
    )


def _room() -> Room:
    """Make 4 m x 3 m x 2.5 m: 59 m² with a mean absorption of 0.2 in every band."""
    surfaces = (
        Surface("floor", 12.0, (0.2,) * 8),
        Surface("ceiling", 12.0, (0.2,) * 8),
        Surface("walls", 35.0, (0.2,) * 8),
    )
    return Room(4.0, 3.0, 2.5, surfaces, ua_w_k=50.0, rack_u=12)


def _listeners() -> tuple[Listener, ...]:
    elements = (Element("wall", 8.0, (40.0,) * 8), Element("door", 2.0, (20.0,) * 8))
    return (
        Listener("desk", 50.0, distance_m=2.0, directivity_q=2.0),
        Listener("reception", 30.0, partition=Partition(elements, (10.0,) * 8)),
    )


def _boxes() -> tuple[Box, ...]:
    return (
        Box(
            "alder", _spec(8.0, 32.0, 100.0, 200.0, 60.0, u=2), "circuit-a", may_host=True, reuse_price=100.0
        ),
        Box("birch", _spec(4.0, 16.0, 80.0, 160.0, 50.0, u=2), "circuit-a", hosts_today=True, on_ups=True),
    )


def _kinds() -> tuple[Kind, ...]:
    return (
        Kind("quiet-host", Role.HOST, _spec(16.0, 64.0, 40.0, 120.0, 30.0), 1500.0, 2, hours=4.0),
        Kind("small-appliance", Role.APPLIANCE, _spec(4.0, 16.0, 10.0, 30.0, 20.0), 400.0, 2, hours=1.0),
        Kind("disk-tower", Role.TOWER, _spec(8.0, 32.0, 50.0, 130.0, 35.0), 1200.0, 1, hours=3.0),
    )


def _cooling() -> tuple[Cooling, ...]:
    return (
        Cooling(
            name="split-unit",
            owned=True,
            power_w=600.0,
            sound=flat_sound(55.0),
            circuit="circuit-a",
            removal={"summer": Removal(capacity_w=2500.0), "winter": Removal(capacity_w=2500.0)},
            runs_today=frozenset({"summer", "winter"}),
            duty=0.5,
            setpoint_c=24.0,
        ),
        Cooling(
            name="door-fan",
            owned=False,
            power_w=20.0,
            sound=flat_sound(35.0),
            circuit="circuit-a",
            removal={"winter": Removal(flow_m3_s=0.1, supply_c=20.0)},
            heats_room=1.0,
            price=200.0,
            hours=4.0,
            excludes=frozenset({"sealed-door"}),
        ),
    )


def _measures() -> tuple[Measure, ...]:
    panels = Surface("wall panels", 6.0, (0.8,) * 8)
    return (
        Measure("slow-fans", "alder", SourceEffect((10.0,) * 8, power_delta_w=-10.0), price=60.0, hours=1.0),
        Measure("new-switch", "phone-switch", SourceEffect(sound=flat_sound(30.0)), price=300.0, hours=1.0),
        Measure("wall-panels", ROOM, room_effect=RoomEffect((panels,)), price=250.0, hours=2.0),
        Measure(
            "sealed-door",
            ROOM,
            room_effect=RoomEffect(elements={"door": (30.0,) * 8}),
            price=150.0,
            hours=2.0,
            excludes=frozenset({"door-fan"}),
        ),
    )
