"""Storage and its moving: what a disk array holds and delivers, how long a copy takes."""

from collections.abc import Mapping
from typing import NamedTuple

from planner.physics.checks import require_fraction, require_not_negative, require_positive

SECONDS_PER_HOUR = 3600.0
BITS_PER_BYTE = 8.0

TCP_PAYLOAD_BYTES = 1460.0
ETHERNET_FRAME_BYTES = 1538.0
"""Payload and wire bytes of a full TCP segment on Ethernet, preamble and gap included (from memory)."""

PRACTICAL_LINK_SHARE = 112e6 * BITS_PER_BYTE / 1e9
"""Share of the line rate that file copies see: 112 MB/s of 1 Gbit/s (common practice, 110 to 118)."""

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
    """A level: disks lost to redundancy, fewest disks, disk writes for one write, failures survived."""

    parity_disks: int
    min_disks: int
    write_penalty: int
    failures_survived: int


RAID_LEVELS: Mapping[int, Raid] = {
    0: Raid(0, 2, 1, 0),
    1: Raid(1, 2, 2, 1),
    5: Raid(1, 3, 4, 1),
    6: Raid(2, 4, 6, 2),
    10: Raid(0, 4, 2, 1),
}
"""RAID levels (two copies of one table). A mirror of n disks, level 1, survives n - 1 failures."""

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


def write_penalty(level: int) -> int:
    """Disk writes that one write of the host costs.

    Raises
    ------
    ValueError
        If the level is unknown.

    Source: RAID table; a mirror of more than two disks costs one write for each.
    """
    return _known_level(level).write_penalty


def failures_survived(level: int, disks: int) -> int:
    """Disks that may fail, whichever they are, without loss of data.

    Raises
    ------
    ValueError
        If the level is unknown, or the disks are too few (or odd for level 10).

    Source: RAID table; level 10 survives more if they are in different mirrors.
    """
    raid = _raid(level, disks)
    return disks - 1 if level == MIRROR else raid.failures_survived


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


def tcp_payload_share() -> float:
    """Share (0 to 1) of the line rate that is TCP payload with full Ethernet frames.

    Source: Ethernet framing, from memory.
    """
    return TCP_PAYLOAD_BYTES / ETHERNET_FRAME_BYTES


def practical_link_bytes_s(line_rate_gbit_s: float) -> float:
    """Bytes a second that a file copy gets over a link of a line rate in Gbit/s.

    Raises
    ------
    ValueError
        If the rate is not above zero.

    Source: 112 MB/s over 1 Gbit/s, common practice; validate against a timed sample.
    """
    line_bit_s = require_positive("the line rate in Gbit/s", line_rate_gbit_s) * 1e9
    return line_bit_s / BITS_PER_BYTE * PRACTICAL_LINK_SHARE


def copy_rate_bytes_s(line_rate_gbit_s: float, disk_bytes_s: float) -> float:
    """Bytes a second of a copy that both a link (line rate in Gbit/s) and a disk (bytes/s) hold up.

    Raises
    ------
    ValueError
        If a rate is not above zero.

    Source: the slower of the two; common practice.
    """
    return min(
        practical_link_bytes_s(line_rate_gbit_s), require_positive("the disk's bytes a second", disk_bytes_s)
    )


def copy_hours(size_bytes: float, rate_bytes_s: float) -> float:
    """Hours to copy a size in bytes at a rate in bytes a second.

    Raises
    ------
    ValueError
        If the size is negative, or the rate not above zero.

    Source: arithmetic.
    """
    require_not_negative("the size in bytes", size_bytes)
    return size_bytes / require_positive("the rate in bytes a second", rate_bytes_s) / SECONDS_PER_HOUR


def _known_level(level: int) -> Raid:
    if level not in RAID_LEVELS:
        raise ValueError(f"unknown RAID level {level}: choose one of {', '.join(map(str, RAID_LEVELS))}")
    return RAID_LEVELS[level]


def _raid(level: int, disks: int) -> Raid:
    raid = _known_level(level)
    if disks < raid.min_disks:
        raise ValueError(f"RAID {level} needs at least {raid.min_disks} disks, not {disks}")
    if level == STRIPED_MIRRORS and disks % 2:
        raise ValueError(f"RAID 10 needs an even number of disks, not {disks}")
    return raid
