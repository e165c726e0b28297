"""Small invented sites for tests: random ones with every rule in play, and one written by hand.

Figures are whole numbers or halves, so that sums are exact and ties are ties. The same seed gives the
same site. A random site may have no plan at all; its state today is always within its boxes' capacities.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.domain.air import Cooling, Room
from planner.domain.machines import Box, Circuit, Gear, Spec, Supply
from planner.domain.resources import Demand
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Surface
from tests.kit import air as air_of
from tests.kit import gear as gear_of
from tests.kit import rules as rules_of
from tests.kit.plain import plain_site

__all__ = ["medium_site", "plain_site", "random_site", "tiny_site"]

BOXES = ("alder", "birch", "cedar", "elm", "hazel", "larch", "maple", "oak", "pine", "rowan")
SERVICES = (
    "records-db",
    "mail",
    "directory-1",
    "directory-2",
    "files",
    "phones",
    "backup",
    "intranet",
    "billing",
    "monitoring",
    "imaging",
    "print",
    "door-access",
    "wiki",
    "time",
    "licences",
    "proxy",
    "archive",
    "build",
    "cameras",
)
GPU_MEMORY = (0.0, 0.0, 4.0, 8.0)
PARTS = ("usb-dongle", "phone-card")
CPU, VCPU, MEMORY, DISK, IOPS, NETWORK = (
    (0.5, 1.0, 1.5, 2.0, 3.0),
    (1.0, 2.0, 4.0),
    (2.0, 4.0, 8.0, 12.0, 16.0),
    (50.0, 100.0, 200.0, 400.0),
    (10.0, 25.0, 50.0, 100.0),
    (10.0, 20.0, 50.0, 100.0),
)


@dataclass(frozen=True)
class Counts:
    """How many objects of each sort a random site gets; ``slots`` None: 1, or sometimes 3."""

    boxes: int
    services: int
    kinds: int
    gear: int
    measures: int
    cooling: int
    room_measures: int
    seasons: int
    max_units: int
    listeners: int | None
    slots: int | None


def random_site(
    seed: int,
    *,
    boxes: int = 3,
    services: int = 5,
    kinds: int = 2,
    gear: int = 2,
    measures: int = 3,
    cooling: int = 2,
    room_measures: int = 1,
    seasons: int = 2,
    max_units: int = 2,
    listeners: int | None = None,
    slots: int | None = None,
) -> Site:
    """Make the random site of a seed with so many objects of each sort."""
    rng = random.Random(seed)
    counts = Counts(
        boxes=boxes,
        services=services,
        kinds=kinds,
        gear=gear,
        measures=measures,
        cooling=cooling,
        room_measures=room_measures,
        seasons=seasons,
        max_units=max_units,
        listeners=listeners,
        slots=slots,
    )
    return _with_gpus(random.Random(f"with GPUs {seed}"), _build(rng, seed, counts))


def tiny_site(seed: int, *, slots: int | None = None) -> Site:
    """Make a random site small enough to try every plan: 2 boxes, 3 or 4 services, 2 kinds."""
    return random_site(
        seed,
        boxes=2,
        services=3 + seed % 2,
        gear=1,
        measures=1,
        cooling=1 + seed // 2 % 2,
        seasons=1 + seed // 4 % 2,
        slots=slots,
    )


def medium_site(seed: int, services: int = 12) -> Site:
    """Make a random site for a solver: about 2 services a box, 3 kinds, up to 3 units of each."""
    return random_site(
        seed,
        boxes=max(3, min(len(BOXES), services // 2)),
        services=services,
        kinds=3,
        gear=3,
        measures=5,
        cooling=3,
        room_measures=2,
        max_units=3,
    )


def _build(rng: random.Random, seed: int, counts: Counts) -> Site:
    slots = counts.slots or rng.choice((1, 1, 3))
    circuit_names = ("circuit-a", "circuit-b")[: rng.choice((1, 2))]
    services = _services(rng, counts, slots)
    boxes = _boxes(rng, counts, services, circuit_names)
    seasons = air_of.seasons(rng, counts.seasons)
    gear = gear_of.gear(rng, counts.gear, circuit_names)
    cooling = air_of.cooling(rng, counts.cooling, seasons, circuit_names)
    targets: tuple[Box | Gear | Cooling, ...] = (*boxes, *gear, *cooling)
    measures = gear_of.measures(rng, counts.measures, counts.room_measures, targets)
    together = rules_of.together(rng, services)
    return Site(
        name=f"office-{seed}",
        currency="EUR",
        room=_room(rng, boxes, gear),
        listeners=air_of.listeners(rng, counts.listeners),
        seasons=seasons,
        supply=_supply(rng, circuit_names, boxes, gear),
        cooling=air_of.tied(rng, cooling, measures),
        policy=rules_of.policy(rng),
        boxes=boxes,
        services=services,
        gear=gear,
        kinds=gear_of.kinds(rng, counts.kinds, counts.max_units),
        measures=measures,
        together=together,
        apart=rules_of.apart(rng, services, together),
        quorums=rules_of.quorums(rng, services),
        slots=slots,
    )


def _with_gpus(rng: random.Random, site: Site) -> Site:
    """Give one site in six GPU memory, drawn apart so that all other figures of a seed stay the same."""
    if rng.random() * 6.0 >= 1.0:
        return site
    services = tuple(
        replace(item, demand=replace(item.demand, gpu_memory_gib=_values(rng, GPU_MEMORY, site.slots)))
        for item in site.services
    )
    taken = {
        box.name: sum(max(item.demand.gpu_memory_gib) for item in services if item.box == box.name)
        for box in site.boxes
    }
    kept = rng.choice((0.0, 0.25))
    return replace(
        site,
        services=services,
        boxes=tuple(
            replace(
                box,
                spec=replace(box.spec, gpu_memory_gib=max(rng.choice((0.0, 12.0)), 2.0 * taken[box.name])),
            )
            for box in site.boxes
        ),
        kinds=tuple(
            replace(kind, spec=replace(kind.spec, gpu_memory_gib=rng.choice((0.0, 12.0, 24.0))))
            for kind in site.kinds
        ),
        policy=replace(site.policy, headroom={**site.policy.headroom, "gpu_memory_gib": kept}),
    )


def _values(rng: random.Random, choices: Sequence[float], slots: int) -> tuple[float, ...]:
    if slots == 1 or rng.random() < 0.5:
        return (rng.choice(choices),)
    return tuple(rng.choice(choices) for _ in range(slots))


def _services(rng: random.Random, counts: Counts, slots: int) -> tuple[Service, ...]:
    found: list[Service] = []
    for name in _names(SERVICES, counts.services):
        box = BOXES[rng.randrange(counts.boxes)]
        demand = Demand(
            cpu=_values(rng, CPU, slots),
            vcpu=_values(rng, VCPU, 1),
            memory_gib=_values(rng, MEMORY, slots),
            disk_gb=_values(rng, DISK, 1),
            iops=_values(rng, IOPS, slots),
            network_mbps=_values(rng, NETWORK, slots),
        )
        found.append(
            Service(
                name=name,
                box=box,
                demand=demand,
                physical="its vendor supports no guest" if rng.random() < 0.15 else None,
                stay_on=box if rng.random() < 0.1 else None,
                needs=frozenset({rng.choice(PARTS)}) if rng.random() < 0.15 else frozenset(),
                zone="dmz" if rng.random() < 0.2 else "default",
                restart=rng.random() < 0.8,
                depends_on=(found[0].name,) if found and rng.random() < 0.3 else (),
            )
        )
    return tuple(found)


def _names(pool: Sequence[str], count: int) -> list[str]:
    return [pool[index] if index < len(pool) else f"app-{index}" for index in range(count)]


def _boxes(
    rng: random.Random, counts: Counts, services: Sequence[Service], circuits: Sequence[str]
) -> tuple[Box, ...]:
    boxes: list[Box] = []
    for name in BOXES[: counts.boxes]:
        residents = [service for service in services if service.box == name]
        hosts = rng.random() < 0.25
        boxes.append(
            Box(
                name=name,
                spec=_box_spec(rng, residents),
                circuit=rng.choice(circuits),
                hosts_today=hosts,
                may_host=hosts or rng.random() < 0.4,
                reuse_price=float(rng.choice((0, 50, 100))),
                reuse_hours=float(rng.choice((0, 2, 4))),
                stays="its tape drive is read here" if rng.random() < 0.12 else None,
                on_ups=rng.random() < 0.5,
            )
        )
    return tuple(boxes)


def _box_spec(rng: random.Random, residents: Sequence[Service]) -> Spec:
    def most(resource: str) -> float:
        return sum((max(getattr(service.demand, resource)) for service in residents), start=0.0)

    idle_w = float(rng.choice((80, 120, 160, 200)))
    return Spec(
        cpu=max(rng.choice((4.0, 8.0)), 2.0 * most("cpu")),
        cores=rng.choice((4.0, 8.0, 16.0)),
        memory_gib=max(rng.choice((16.0, 32.0)), 2.0 * most("memory_gib") + 8.0),
        disk_gb=max(1000.0, 2.0 * most("disk_gb")),
        iops=max(400.0, 2.0 * most("iops")),
        network_mbps=1000.0,
        idle_w=idle_w,
        peak_w=idle_w + rng.choice((50.0, 100.0, 150.0)),
        sound=gear_of.sound(rng, rng.choice((58.0, 62.0, 66.0, 70.0)), "small"),
        rack_u=rng.choice((0, 1, 2)),
        offers=frozenset(part for service in residents for part in service.needs),
        zones=max(1, len({service.zone for service in residents})),
    )


def _room(rng: random.Random, boxes: Sequence[Box], gear: Sequence[Gear]) -> Room:
    used_u = sum(box.spec.rack_u for box in boxes) + sum(item.rack_u for item in gear)
    return Room(
        length_m=4.0,
        width_m=3.0,
        height_m=2.5,
        surfaces=(
            Surface("floor", 12.0, (0.02,) * 8),
            Surface("ceiling", 12.0, (0.3, 0.3, 0.4, 0.5, 0.6, 0.6, 0.5, 0.5)),
            Surface("walls", 35.0, (0.1, 0.1, 0.08, 0.05, 0.05, 0.05, 0.05, 0.05)),
        ),
        ua_w_k=float(rng.choice((20, 40, 60, 100))),
        leak_m3_s=rng.choice((0.0, 0.005, 0.01)),
        altitude_m=rng.choice((0.0, 0.0, 500.0)),
        rack_u=None if rng.random() < 0.6 else used_u + rng.choice((-1, 0, 2)),
    )


def _supply(
    rng: random.Random, circuits: Sequence[str], boxes: Sequence[Box], gear: Sequence[Gear]
) -> Supply:
    peak_w = sum(box.spec.peak_w for box in boxes) + sum(item.power_w for item in gear)
    spare_w = rng.choice((400.0, 1500.0, 3000.0))
    continuous_w = peak_w / 2.0 + spare_w if len(circuits) > 1 else peak_w * 0.75 + spare_w
    return Supply(
        circuits=tuple(Circuit(name, 230.0, 16.0, continuous_w) for name in circuits),
        price_kwh=0.25,
        ups_efficiency=rng.choice((0.9, 1.0)),
    )
