"""Sites with boxes that are alike and may be re-used as hosts: tiny ones to try out, and large ones.

A tiny site is a random one with every rule in play, most of whose boxes are made alike: the others differ in
one thing that tells them apart.
"""

from __future__ import annotations

import random
from dataclasses import replace

from planner.domain.air import Room, Season
from planner.domain.machines import Box, Circuit, Kind, Role, Spec, Supply
from planner.domain.resources import Demand
from planner.domain.rules import Aim, Apart, Policy
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Listener, Sound, Surface
from tests.kit.sites import random_site

REUSE_HOURS = 2.0


def alike_site(seed: int) -> Site:
    """Make a tiny site with three or four boxes, most of them alike, and few services."""
    rng = random.Random(f"alike {seed}")
    site = random_site(
        seed,
        boxes=3 + seed % 2,
        services=4,
        kinds=seed // 2 % 2,
        gear=1,
        measures=seed // 4 % 2,
        cooling=1,
        room_measures=0,
        seasons=1,
        max_units=1,
    )
    pattern = replace(
        site.boxes[0],
        spec=_ample(site, rng),
        hosts_today=False,
        may_host=True,
        reuse_price=rng.choice((0.0, 50.0)),
        reuse_hours=REUSE_HOURS,
        stays=None,
        on_ups=False,
    )
    boxes = tuple(_alike(box, pattern, rng) for box in site.boxes)
    policy = replace(site.policy, headroom={}, spare_hosts=int(rng.random() < 0.2))
    return replace(site, boxes=boxes, policy=policy)


def _ample(site: Site, rng: random.Random) -> Spec:
    """Find what holds the load of any box today, and about two of them as guests."""
    specs, more = [box.spec for box in site.boxes], rng.choice((1.0, 1.5, 2.0))
    return replace(
        specs[0],
        cpu=more * max(spec.cpu for spec in specs),
        cores=more * max(spec.cores for spec in specs),
        memory_gib=more * max(spec.memory_gib for spec in specs),
        disk_gb=more * max(spec.disk_gb for spec in specs),
        iops=more * max(spec.iops for spec in specs),
        network_mbps=more * max(spec.network_mbps for spec in specs),
        gpu_memory_gib=more * max(spec.gpu_memory_gib for spec in specs),
        offers=frozenset[str]().union(*(spec.offers for spec in specs)),
    )


def _alike(box: Box, pattern: Box, rng: random.Random) -> Box:
    """Make a box like the pattern, on its own circuit; now and then one thing tells it apart."""
    made = replace(pattern, name=box.name, circuit=box.circuit)
    draw = rng.random()
    if draw < 0.08:
        return replace(made, stays="its alarm line ends here")
    if draw < 0.16:
        return replace(made, reuse_price=made.reuse_price + 20.0)
    if draw < 0.24:
        return replace(made, hosts_today=True, may_host=False)
    return replace(made, may_host=False) if draw < 0.30 else made


def reuse_site(boxes: int, services: int, seed: int = 0, *, kinds: bool = True, circuits: int = 2) -> Site:
    """Make a site of alike boxes with services spread over them, and at most one kind of small host to buy.

    A host holds about six of the services; one alone leaves its box nearly idle.
    """
    rng = random.Random(f"reuse {boxes}/{services}/{seed}")
    names = [f"box-{number:03d}" for number in range(boxes)]
    spec = _spec(16.0, 64.0, 90.0, 240.0, 49.0)
    load = tuple(_service(rng, number, names[number % boxes]) for number in range(services))
    groups = [frozenset(rng.sample([item.name for item in load], 2)) for _ in range(services // 20)]
    rows = tuple(Circuit(name, 230.0, 400.0, 60_000.0) for name in ("row-a", "row-b")[:circuits])
    small = Kind("small-host", Role.HOST, _spec(8.0, 32.0, 60.0, 130.0, 45.0), 900.0, 4, 3.0)
    return Site(
        name=f"alike {boxes}/{services}/{seed}",
        currency="EUR",
        room=Room(20.0, 12.0, 3.0, (Surface("plaster", 672.0, (0.1,) * 8),), 3_000.0),
        listeners=(Listener("desk", 70.0, distance_m=3.0),),
        seasons=(Season("summer", 24.0, 4380.0), Season("winter", 18.0, 4380.0)),
        supply=Supply(rows, 0.3),
        cooling=(),
        policy=Policy(aims=(Aim.POWER, Aim.SOUND, Aim.COST, Aim.CHANGE), inlet_limit_c=35.0),
        boxes=tuple(
            Box(name, spec, rows[number % circuits].name, may_host=True, reuse_hours=REUSE_HOURS)
            for number, name in enumerate(names)
        ),
        services=load,
        gear=(),
        kinds=(small,) if kinds else (),
        measures=(),
        apart=tuple(Apart(group, "one must survive the other") for group in groups),
    )


def _spec(cores: float, memory_gib: float, idle_w: float, peak_w: float, level_db: float) -> Spec:
    sound = Sound((level_db - 9.0,) * 8, (level_db - 4.0,) * 8)
    return Spec(cores, cores, memory_gib, 4000.0, 20_000.0, 2000.0, idle_w, peak_w, sound)


def _service(rng: random.Random, number: int, box: str) -> Service:
    memory_gib = rng.choice((2.0, 4.0, 4.0, 6.0, 8.0, 12.0, 16.0))
    demand = Demand(
        cpu=(round(rng.uniform(0.2, 2.4), 2),),
        vcpu=(float(rng.choice((1, 2, 2, 4))),),
        memory_gib=(memory_gib,),
        disk_gb=(float(rng.choice((40, 80, 150, 300))),),
        iops=(float(rng.choice((20, 50, 100, 400))),),
        network_mbps=(float(rng.choice((5, 10, 20, 50))),),
    )
    return Service(f"service-{number:03d}", box, demand)
