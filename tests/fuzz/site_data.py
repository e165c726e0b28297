"""Random sites of the site generator as the data of an inventory: look-up of each field's written form."""

from __future__ import annotations

import random
from typing import Any

from planner.domain.air import Cooling
from planner.domain.machines import Box, Gear, Kind, Spec
from planner.domain.measures import Measure
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Listener, Sound
from tests.kit.sites import random_site

Data = dict[str, Any]


def random_inventory(seed: int) -> Data:
    """Write the random site of a seed as the data of an inventory."""
    rng = random.Random(seed)
    site = random_site(
        seed,
        boxes=rng.randint(1, 2),
        services=rng.randint(1, 4),
        kinds=rng.randint(0, 2),
        gear=rng.randint(0, 1),
        measures=rng.randint(0, 2),
        cooling=rng.randint(0, 2),
        room_measures=rng.randint(0, 1),
        seasons=rng.randint(1, 3),
        slots=1,
    )
    sections = {
        "room": _room(site),
        "listeners": {item.name: _listener(item) for item in site.listeners},
        "seasons": _seasons(site),
        "supply": _supply(site),
        "cooling": {item.name: _cooling(item) for item in site.cooling},
        "policy": _policy(site),
        "boxes": {item.name: _box(item) for item in site.boxes},
        "services": {item.name: _service(item) for item in site.services},
        "gear": {item.name: _gear(item) for item in site.gear},
        "catalogue": {item.name: _kind(item) for item in site.kinds},
        "measures": {item.name: _measure(item) for item in site.measures},
        "rules": _rules(site),
    }
    return {name: section for name, section in sections.items() if section}


def _some(**keys: Any) -> Data:
    return {key: value for key, value in keys.items() if value not in (None, [], {}, False)}


def _room(site: Site) -> Data:
    room = site.room
    surfaces = {
        each.name: {"area": f"{each.area_m2} m2", "absorption": list(each.absorption)}
        for each in room.surfaces
    }
    return _some(
        size=f"{room.length_m} x {room.width_m} x {room.height_m} m",
        surfaces=surfaces,
        heat_loss=f"{room.ua_w_k} W/K",
        leak=f"{room.leak_m3_s} m3/s",
        rack_units=room.rack_u,
    )


def _listener(item: Listener) -> Data:
    target = None if item.target_dba is None else f"{item.target_dba} dBA"
    if item.partition is None:
        return _some(distance=f"{item.distance_m} m", target=target)
    parts = {
        each.name: {"area": f"{each.area_m2} m2", "loss": list(each.loss_db)}
        for each in item.partition.elements
    }
    return _some(behind={"elements": parts, "room": {"size": "5 x 4 x 2.5 m"}}, target=target)


def _seasons(site: Site) -> Data:
    hours = [season.hours for season in site.seasons]
    hours[-1] += 8760.0 - sum(hours)
    return {
        season.name: {"surroundings": f"{season.surroundings_c} °C", "hours": count, "quiet": season.quiet}
        for season, count in zip(site.seasons, hours, strict=True)
    }


def _supply(site: Site) -> Data:
    circuits = {
        each.name: {"volts": f"{each.volts} V", "breaker": f"{each.breaker_a} A"}
        for each in site.supply.circuits
    }
    return {"circuits": circuits, "price": site.supply.price_kwh}


def _cooling(item: Cooling) -> Data:
    chiller = max((each.capacity_w for each in item.removal.values()), default=0.0)
    air = {
        name: {"flow": f"{each.flow_m3_s} m3/s", "supply": f"{each.supply_c} °C"}
        for name, each in item.removal.items()
    }
    return _some(
        takes_out=f"{chiller} W" if chiller else None,
        air=None if chiller else air,
        runs_today=sorted(item.runs_today),
        owned=item.owned,
        power=f"{item.power_w} W",
        sound=_sound(item.sound),
        circuit=item.circuit,
        duty=f"{100 * item.duty} %",
        setpoint=None if item.setpoint_c is None else f"{item.setpoint_c} °C",
        price=item.price,
        requires=sorted(item.requires),
        excludes=sorted(item.excludes),
    )


def _sound(sound: Sound) -> Data:
    return {"idle": f"{max(sound.idle_db)} dB", "loaded": f"{max(sound.loaded_db)} dB"}


def _policy(site: Site) -> Data:
    policy = site.policy
    return _some(
        aims=[aim.value for aim in policy.aims],
        budget=policy.budget,
        spare_hosts=policy.spare_hosts,
        inlet_limit=f"{policy.inlet_limit_c} °C",
        labour_per_hour=policy.labour_per_hour,
    )


def _spec(spec: Spec) -> Data:
    return _some(
        cores=spec.cores,
        memory=f"{spec.memory_gib} GiB",
        disk=f"{spec.disk_gb} GB",
        iops=spec.iops,
        network=f"{spec.network_mbps} Mbit/s",
        gpu_memory=f"{spec.gpu_memory_gib} GiB",
        power={"idle": f"{spec.idle_w} W", "peak": f"{spec.peak_w} W"},
        sound=_sound(spec.sound),
        rack_units=spec.rack_u,
        offers=sorted(spec.offers),
    )


def _box(item: Box) -> Data:
    reuse = {"price": item.reuse_price, "hours": item.reuse_hours} if item.may_host else None
    more = _some(circuit=item.circuit, hosts=item.hosts_today, reuse=reuse, stays=item.stays, ups=item.on_ups)
    return {**_spec(item.spec), **more}


def _service(item: Service) -> Data:
    demand = item.demand
    return _some(
        box=item.box,
        cpu=demand.cpu[0],
        vcpu=demand.vcpu[0],
        memory=f"{demand.memory_gib[0]} GiB",
        disk=f"{demand.disk_gb[0]} GB",
        iops=demand.iops[0],
        gpu_memory=f"{demand.gpu_memory_gib[0]} GiB",
        stay_physical=item.physical,
        stay_on=item.stay_on,
        needs=sorted(item.needs),
        depends_on=list(item.depends_on),
        zone=item.zone,
    )


def _gear(item: Gear) -> Data:
    return _some(
        power=f"{item.power_w} W",
        sound=_sound(item.sound),
        circuit=item.circuit,
        leaves_room=f"{item.leaves_room_w} W",
        rack_units=item.rack_u,
        ups=item.on_ups,
    )


def _kind(item: Kind) -> Data:
    return {**_spec(item.spec), "role": item.role.value, "price": item.price, "up_to": item.max_units}


def _measure(item: Measure) -> Data:
    keys = _some(
        target=item.target,
        price=item.price,
        hours=item.hours,
        requires=sorted(item.requires),
        excludes=sorted(item.excludes),
    )
    source, room = item.source_effect, item.room_effect
    if source is not None:
        keys |= _some(
            quieter=list(source.reduction_db),
            sound=_sound(source.sound) if source.sound else None,
            power=f"{source.power_delta_w} W",
            removes=source.removes,
        )
    if room is not None:
        adds = {
            each.name: {"area": f"{each.area_m2} m2", "absorption": list(each.absorption)}
            for each in room.surfaces
        }
        parts = {name: {"loss": list(loss)} for name, loss in room.elements.items()}
        keys |= _some(
            adds=adds,
            elements=parts,
            leak=f"{room.leak_delta_m3_s} m3/s",
            heat_loss=f"{room.ua_delta_w_k} W/K",
        )
    return keys


def _rules(site: Site) -> Data:
    return _some(
        together=[{"services": sorted(rule.services), "because": rule.because} for rule in site.together],
        apart=[{"services": sorted(rule.services), "because": rule.because} for rule in site.apart],
        quorum=[
            {"services": sorted(rule.services), "physical": rule.physical, "because": rule.because}
            for rule in site.quorums
        ],
    )
