"""Storage: what a disk array holds and delivers by its write penalty, how long a copy takes."""

import math
from collections.abc import Mapping
from typing import NamedTuple

from planner.physics.checks import require_fraction, require_not_negative, require_positive

COPY_MB_S_PER_MBIT_S = 0.112
"""Copy rate in MB/s for each Mbit/s of line rate: 112 MB/s on 1 GbE (common practice, 110 to 118)."""

DISK_IOPS: Mapping[str, float] = {
    "disk-5400": 80.0,
    "disk-7200": 100.0,
    "disk-10k": 150.0,
    "disk-15k": 200.0,
    "ssd-sata": 10_000.0,
    "ssd-nvme": 100_000.0,
}
"""Operations a second to plan with (web pages by spindle speed; the solid-state figures from memory)."""


class Raid(NamedTuple):
    """A level: disks lost to redundancy, fewest disks, disk writes for one write."""

    parity_disks: int
    min_disks: int
    write_penalty: int


RAID_LEVELS: Mapping[int, Raid] = {
    0: Raid(0, 2, 1),
    1: Raid(1, 2, 2),
    5: Raid(1, 3, 4),
    6: Raid(2, 4, 6),
    10: Raid(0, 4, 2),
}
"""RAID levels (two copies of one table)."""

MIRROR = 1
STRIPED_MIRRORS = 10


def raid_usable(level: int, disks: int, disk_size: float) -> float:
    """Usable capacity of an array, in the unit of `disk_size`.

    Raises
    ------
    ValueError
        If the level is unknown, the disks are too few (or odd for level 10), or the size not above zero.

    Source: RAID table, published in two copies.
    """
    raid = _raid(level, disks)
    require_positive("the size of a disk", disk_size)
    if level == MIRROR:
        return disk_size
    data_disks = disks // 2 if level == STRIPED_MIRRORS else disks - raid.parity_disks
    return data_disks * disk_size


def host_iops(level: int, disks: int, disk_iops: float, write_share: float) -> float:
    """Operations a second that the host gets from an array, `raw / (R + W * penalty)`.

    The formula found on some pages, `raw * W / penalty + raw * R`, promises too much.

    Raises
    ------
    ValueError
        If the level is unknown, the disks too few, the operations not above zero, or the share not 0 to 1.

    Source: web page on RAID performance, checked by counting disk operations.
    """
    raid = _raid(level, disks)
    writes = require_fraction("the share of writes", write_share)
    raw = disks * require_positive("the operations a second of a disk", disk_iops)
    penalty = disks if level == MIRROR else raid.write_penalty
    return raw / ((1.0 - writes) + writes * penalty)


def copy_hours(size_gb: float, link_mbit_s: float) -> float:
    """Hours to copy a size in GB over a link of a line rate in Mbit/s; infinite without a link.

    Raises
    ------
    ValueError
        If the size or the rate is negative.

    Source: `COPY_MB_S_PER_MBIT_S`, common practice; a timed sample says more.
    """
    if require_not_negative("the size in GB", size_gb) == 0:
        return 0.0
    rate_mb_s = COPY_MB_S_PER_MBIT_S * require_not_negative("the line rate in Mbit/s", link_mbit_s)
    return size_gb * 1000.0 / rate_mb_s / 3600.0 if rate_mb_s > 0 else math.inf


def _raid(level: int, disks: int) -> Raid:
    if level not in RAID_LEVELS:
        raise ValueError(f"unknown RAID level {level}: choose one of {', '.join(map(str, RAID_LEVELS))}")
    raid = RAID_LEVELS[level]
    if disks < raid.min_disks:
        raise ValueError(f"RAID {level} needs at least {raid.min_disks} disks, not {disks}")
    if level == STRIPED_MIRRORS and disks % 2:
        raise ValueError(f"RAID 10 needs an even number of disks, not {disks}")
    return raid
