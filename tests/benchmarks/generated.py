"""Seeded sites of any size for races and scaling: services on old boxes, five kinds to buy, every rule."""

from __future__ import annotations

import random
from dataclasses import replace

from planner.domain.air import Cooling, Removal, Room, Season
from planner.domain.machines import Box, Circuit, Gear, Kind, Role, Spec, Supply
from planner.domain.resources import Demand
from planner.domain.rules import Aim, Apart, Policy, Together
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Listener, Sound, Surface


def generated_site(services: int, seed: int = 0, aims: tuple[Aim, ...] = (Aim.SOUND, Aim.POWER)) -> Site:
    """Make a site with that many services, a third as many boxes, and kinds enough to hold everything."""
    rng = random.Random(f"{services}/{seed}")
    box_count = max(2, services // 3)
    names = [f"service-{number:04d}" for number in range(services)]
    load = tuple(_service(rng, name, f"box-{rng.randrange(box_count):04d}") for name in names)
    return Site(
        name=f"generated {services}/{seed}",
        currency="EUR",
        room=_room(services),
        listeners=(Listener("desk", 60.0, distance_m=3.0),),
        seasons=(Season("summer", 26.0, 4380.0), Season("winter", 20.0, 4380.0)),
        supply=Supply((Circuit("main", 230.0, 16.0 * services, 2944.0 * services),), 0.3),
        cooling=_cooling(services),
        policy=Policy(aims=aims, headroom={"cpu": 0.2, "memory_gib": 0.2, "disk_gb": 0.15}),
        boxes=tuple(_box(rng, f"box-{number:04d}", load) for number in range(box_count)),
        services=load,
        gear=(Gear("switch", 60.0, _sound(46.0), "main"),),
        kinds=_kinds(services),
        measures=(),
        together=tuple(Together(frozenset(pair), "they share files") for pair in _pairs(rng, load, 40)),
        apart=tuple(Apart(frozenset(pair), "one must survive the other") for pair in _pairs(rng, load, 15)),
    )


def _sound(level_db: float, loaded_db: float | None = None) -> Sound:
    """Make a flat spectrum; only differences between kinds matter here."""
    loaded = level_db + 6.0 if loaded_db is None else loaded_db
    return Sound((level_db - 9.0,) * 8, (loaded - 9.0,) * 8)


def _service(rng: random.Random, name: str, box: str) -> Service:
    memory = rng.choice((1.0, 2.0, 2.0, 4.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0))
    cpu = round(rng.uniform(0.05, 0.25) * memory + rng.choice((0.0, 0.0, 0.5, 1.5)), 2)
    demand = Demand(
        cpu=(cpu,),
        vcpu=(float(rng.choice((1, 2, 2, 4, 4, 8))),),
        memory_gib=(memory,),
        disk_gb=(float(rng.choice((20, 40, 60, 80, 120, 200, 400, 800))),),
        iops=(float(rng.choice((10, 20, 50, 100, 300, 800))),),
        network_mbps=(float(rng.choice((5, 10, 20, 50, 100))),),
    )
    physical = "its vendor supports no guest" if memory <= 6.0 and rng.random() < 0.06 else None
    zone = "outside" if physical is None and rng.random() < 0.15 else "inside"
    return Service(name, box, demand, physical=physical, zone=zone)


def _pairs(rng: random.Random, load: tuple[Service, ...], one_in: int) -> list[tuple[str, str]]:
    """List disjoint pairs of guests of one zone, one for every ``one_in`` services."""
    free = [service for service in load if service.physical is None and service.zone == "inside"]
    rng.shuffle(free)
    count = min(len(free) // 2, len(load) // one_in)
    return [(free[2 * index].name, free[2 * index + 1].name) for index in range(count)]


def _box(rng: random.Random, name: str, load: tuple[Service, ...]) -> Box:
    mine = [service.demand for service in load if service.box == name]
    cpu = 2.0 + 1.5 * sum(demand.cpu[0] for demand in mine)
    idle = round(rng.uniform(60.0, 140.0))
    spec = Spec(
        cpu=cpu,
        cores=cpu,
        memory_gib=8.0 + 1.25 * sum(demand.memory_gib[0] for demand in mine),
        disk_gb=100.0 + 1.3 * sum(demand.disk_gb[0] for demand in mine),
        iops=100.0 + 1.3 * sum(demand.iops[0] for demand in mine),
        network_mbps=1000.0,
        idle_w=idle,
        peak_w=idle * 1.9,
        sound=_sound(rng.uniform(48.0, 60.0)),
        rack_u=2,
    )
    return Box(name, spec, "main")


def _kinds(services: int) -> tuple[Kind, ...]:
    def kind(
        name: str,
        role: Role,
        capacity: tuple[float, float, float, float],
        watts: tuple[float, float],
        level: float,
        price: float,
    ) -> Kind:
        cores, memory, disk, iops = capacity
        spec = Spec(cores, cores, memory, disk, iops, 10000.0, *watts, _sound(level), rack_u=2)
        return Kind(name, role, spec, price, services, hours=4.0)

    return (
        kind("lean-host", Role.HOST, (8.0, 64.0, 2000.0, 8000.0), (32.0, 95.0), 33.0, 900.0),
        kind("quiet-host", Role.HOST, (16.0, 128.0, 4000.0, 20000.0), (52.0, 190.0), 36.0, 1600.0),
        kind("large-host", Role.HOST, (32.0, 256.0, 8000.0, 40000.0), (98.0, 390.0), 42.0, 3300.0),
        kind("small-box", Role.APPLIANCE, (4.0, 8.0, 250.0, 4000.0), (7.0, 18.0), 20.0, 320.0),
        kind("disk-tower", Role.TOWER, (8.0, 64.0, 24000.0, 1200.0), (60.0, 120.0), 34.0, 1400.0),
    )


def _cooling(services: int) -> tuple[Cooling, ...]:
    air = {"summer": Removal(0.0, 0.02 * services, 16.0), "winter": Removal(0.0, 0.02 * services, 18.0)}
    chill = {"summer": Removal(120.0 * services), "winter": Removal(120.0 * services)}
    both = frozenset(("summer", "winter"))
    return (
        Cooling("air-conditioner", True, 20.0 * services, _sound(64.0), "main", chill, both, setpoint_c=23.0),
        Cooling("building-air", False, 1.0 * services, _sound(40.0), "main", air, price=600.0, hours=4.0),
    )


def _room(services: int) -> Room:
    side = 4.0 + services / 100.0
    surfaces = (
        Surface("walls", 4 * side * 2.6, (0.1, 0.1, 0.08, 0.05, 0.03, 0.03, 0.03, 0.03)),
        Surface("floor", side * side, (0.03,) * 8),
        Surface("ceiling", side * side, (0.5, 0.5, 0.5, 0.6, 0.7, 0.8, 0.8, 0.8)),
    )
    return Room(side, side, 2.6, surfaces, 40.0 + services, 0.02)


def with_profiles(site: Site, hours: int = 168, seed: int = 0) -> Site:
    """Make a site whose CPU, IOPS and network follow the hour: office hours, nights, or any time, with noise.

    Peaks are up to twice the plain figure, means about the same; memory and disk stay as they are.
    """
    rng = random.Random(f"{site.name}/{hours}/{seed}")
    services = tuple(replace(item, demand=_by_hour(rng, item.demand, hours)) for item in site.services)
    return replace(site, services=services, slots=hours)


def _by_hour(rng: random.Random, demand: Demand, hours: int) -> Demand:
    shape = rng.choice(("office", "office", "night", "any"))
    noise = rng.choice((0.0, 0.1, 0.3))
    factors = []
    for hour in range(hours):
        day, clock = hour // 24, hour % 24
        in_office = day % 7 < 5 and 8 <= clock < 18
        busy = {"office": in_office, "night": clock < 6, "any": clock == day + 9}[shape]
        factors.append((1.8 if busy else 0.5) * (1.0 + noise * (rng.random() - 0.5)))
    return replace(
        demand,
        cpu=tuple(round(demand.cpu[0] * factor, 3) for factor in factors),
        iops=tuple(round(demand.iops[0] * factor, 1) for factor in factors),
        network_mbps=tuple(round(demand.network_mbps[0] * factor, 2) for factor in factors),
    )
