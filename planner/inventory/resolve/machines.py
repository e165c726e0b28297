"""Boxes, gear and the catalogue to the domain."""

from __future__ import annotations

from planner.domain.machines import Box, Gear, Kind, Role, Spec
from planner.domain.resources import INSTALLED
from planner.inventory.defaults.equipment_classes import SORTS, class_of_box, class_of_kind
from planner.inventory.models.machines import (
    BoxModel,
    GearModel,
    KindModel,
    MachineModel,
    PowerModel,
)
from planner.inventory.models.resources import DISK_TYPES, NO_RAID, DisksModel
from planner.inventory.resolve.recorder import Recorder, percent
from planner.inventory.resolve.sound import resolve_sound
from planner.physics.storage import DISK_IOPS, host_iops, raid_usable

IDLE_SHARE = 0.55
"""Idle over peak power where one is not known: between published two-chip medians of 2008 (0.59) and later
ones (0.12 to 0.23), on the high side because machines in offices carry disks and cards."""

WRITE_SHARE = 0.3
NETWORK_MBPS = 1000.0
PLAIN_DISK_IOPS = DISK_IOPS["disk-7200"]
KINDS_DEFAULT = 4


def resolve_power(model: PowerModel, path: str, recorder: Recorder) -> tuple[float, float, bool]:
    """Compute idle and peak power in W, and whether one of them is assumed."""
    idle_w, peak_w = model.idle_w, model.peak_w
    why = f"idle taken as {percent(IDLE_SHARE)} of peak (older servers; published medians 12 to 59 %)"
    if idle_w is None:
        idle_w = (peak_w or 0.0) * IDLE_SHARE
        recorder.note(f"{path}.power.idle", f"{idle_w:.0f} W", why)
        return idle_w, peak_w or 0.0, True
    if peak_w is None:
        peak_w = idle_w / IDLE_SHARE
        recorder.note(f"{path}.power.peak", f"{peak_w:.0f} W", why)
        return idle_w, peak_w, True
    return idle_w, peak_w, False


def _storage(model: MachineModel, path: str, recorder: Recorder) -> tuple[float, float, bool]:
    """Compute usable space in GB and operations a second, and whether the operations are assumed."""
    if model.disks is not None:
        disk_gb, iops = _array(model.disks, path, recorder)
        return disk_gb, model.iops if model.iops is not None else iops, False
    disk_gb = recorder.take(model.disk_gb, 0.0, f"{path}.disk", "0 GB", "no disk given")
    if model.iops is not None:
        return disk_gb, model.iops, False
    iops = PLAIN_DISK_IOPS if disk_gb else 0.0
    recorder.note(f"{path}.iops", f"{iops:g}", "as one 7200 rpm disk; write disks or iops")
    return disk_gb, iops, True


def _array(disks: DisksModel, path: str, recorder: Recorder) -> tuple[float, float]:
    each = DISK_IOPS[DISK_TYPES[disks.sort]]
    if disks.raid == NO_RAID:
        return disks.count * disks.size_gb, disks.count * each
    why = "share of writes in office work, common practice"
    writes = recorder.take(disks.write_share, WRITE_SHARE, f"{path}.disks.writes", percent(WRITE_SHARE), why)
    level = int(disks.raid)
    return raid_usable(level, disks.count, disks.size_gb), host_iops(level, disks.count, each, writes)


def resolve_spec(
    model: MachineModel, usual_class: str, path: str, recorder: Recorder
) -> tuple[Spec, frozenset[str]]:
    """Find what a machine has and takes, and the names of assumed figures."""
    cores = recorder.take(model.cores, model.cpu or 0.0, f"{path}.cores", f"{model.cpu}", "as many as cpu")
    idle_w, peak_w, power_assumed = resolve_power(model.power, path, recorder)
    disk_gb, iops, iops_assumed = _storage(model, path, recorder)
    heard = resolve_sound(model.sound, usual_class, path, recorder)
    network_mbps = recorder.take(
        model.network_mbps, NETWORK_MBPS, f"{path}.network", "1000 Mbit/s", "usual port of a server"
    )
    flags = {
        "power": power_assumed,
        "iops": iops_assumed,
        "network": model.network_mbps is None,
        "cores": model.cores is None,
    }
    worked_out = {
        "cpu": model.cpu if model.cpu is not None else cores * model.score,
        "disk_gb": disk_gb,
        "iops": iops,
        "network_mbps": network_mbps,
    }
    written = {name: getattr(model, name) for name in INSTALLED}
    spec = Spec(
        **(written | worked_out),
        cores=cores,
        idle_w=idle_w,
        peak_w=peak_w,
        sound=heard.sound,
        rack_u=model.rack_u,
        offers=frozenset(model.offers),
        zones=model.zones,
    )
    return spec, heard.assumed | {name for name, is_assumed in flags.items() if is_assumed}


def resolve_box(name: str, model: BoxModel, circuit: str, recorder: Recorder) -> Box:
    """Make a box."""
    spec, assumed = resolve_spec(model, class_of_box(model.rack_u), f"boxes.{name}", recorder)
    return Box(
        name=name,
        spec=spec,
        circuit=circuit,
        hosts_today=model.hosts,
        may_host=model.reuse is not None,
        reuse_price=model.reuse.price if model.reuse else 0.0,
        reuse_hours=model.reuse.hours if model.reuse else 0.0,
        stays=model.stays,
        on_ups=model.ups,
        assumed=assumed,
    )


def resolve_kind(name: str, model: KindModel, recorder: Recorder) -> Kind:
    """Make a kind of the catalogue."""
    path = f"catalogue.{name}"
    spec, assumed = resolve_spec(model, class_of_kind(model.role, model.rack_u), path, recorder)
    why = "as many as a small office would buy"
    return Kind(
        name=name,
        role=Role(model.role),
        spec=spec,
        price=model.price,
        max_units=recorder.take(model.up_to, KINDS_DEFAULT, f"{path}.up_to", f"{KINDS_DEFAULT}", why),
        hours=model.hours,
        on_ups=model.ups,
        assumed=assumed,
    )


def resolve_gear(name: str, model: GearModel, circuit: str, recorder: Recorder) -> Gear:
    """Make a piece of gear."""
    usual = SORTS[model.sort] if model.sort else "switch_24_fan"
    heard = resolve_sound(model.sound, usual, f"gear.{name}", recorder)
    return Gear(
        name=name,
        power_w=model.power_w,
        sound=heard.sound,
        circuit=circuit,
        leaves_room_w=model.leaves_room_w,
        rack_u=model.rack_u,
        on_ups=model.ups,
        assumed=heard.assumed,
    )
