"""The figures behind an order of moves: hours of work, copy rates, roles and hold times.

All of them are common practice of the trade unless a source is named: estimates to plan a night by, to be
replaced by a timed sample. One table, so that a person can argue with it.
"""

from __future__ import annotations

from datetime import time

from planner.domain.machines import Spec
from planner.domain.rules import Recurring
from planner.domain.services import Service
from planner.physics import storage

RACK_HOURS = 1.0
"""Unpack, rack, power, cable and test a machine; with the 24 h soak running on unattended."""

SOAK_HOURS = 24.0
"""Burn-in of a new machine before anything runs on it; unattended."""

DAY_H = 24.0
"""Between what must not be done in one wave: a soak, a pilot, clean replication take a day at least."""

PREPARE_HOURS = 2.0
"""Install a host, appliance or tower where the inventory gives no hours for its kind."""

REUSE_HOURS = 2.0
"""Rebuild a freed box as a host where the inventory gives no hours."""

REPLUG_HOURS = 0.5
BACK_UP_HOURS = 0.5
"""Attended part of a backup with a test restore; the copying itself runs before the window."""

SETUP_HOURS = {"rebuild": 2.0, "convert": 0.5, "replicate": 0.25}
"""Attended work of a move besides copying, by method."""

PROMOTE_HOURS = 1.5
"""Build and promote a fresh directory server and demote the old one; its data comes by replication."""

COPY_SHARE = {"rebuild": 1.0, "convert": 1.0, "replicate": 0.1}
"""Share of the disk copied inside the window; a replica is seeded before and only catches up."""

TEST_HOURS = 0.5
"""Checks by the service's users after its move."""

WAY_BACK_HOURS = 0.25
"""Way back of one moved service: old machine on again, name and address turned back."""

HOLD_HOURS = 0.1
RETIRE_HOURS = 0.5
MEASURE_HOURS = 0.5
COOLING_ON_HOURS = 1.0
COOLING_OFF_HOURS = 0.25

HOLD_DAYS = 7
"""Days a source machine is kept intact and switched off before it may be touched (7 to 14)."""

WAVE_HOURS = 6.0
"""Default length of a wave: work plus the way back."""

WINDOW_HABIT = (Recurring(5, time(8), 6.0), Recurring(2, time(19), 3.0))
"""Windows where none are given: Saturday 08:00 for 6 h, Wednesday 19:00 for 3 h (common practice)."""

TTL_S = 300
"""Name records are lowered to this time to live, at least one old time to live before."""

PILOT_MOST = 3
"""A pilot wave moves this many services at most."""

DIRECTORY_ROLES = frozenset({"directory", "dns", "dhcp"})
"""Never two services with one of these roles in a wave."""

ROOT_ROLES = frozenset({"directory", "dns", "dhcp", "storage"})
"""What others authenticate to, find names by or boot from: never in one wave with them."""

BACKUP_ROLE = "backup"
DATA_ROLES = frozenset({"database", "mail", "file", "storage"})
UTILITY_ROLES = frozenset({"print", "build", "test", "media"})
CRITICAL_ROLES = DIRECTORY_ROLES | DATA_ROLES | {"backup", "firewall", "time", "telephony", "monitoring"}
"""Services with one of these roles are never a pilot."""


def copy_hours(service: Service, source: Spec, target: Spec) -> float:
    """Compute the hours to copy a service's disk over the slower of two networks; inf without a network."""
    return storage.copy_hours(max(service.demand.disk_gb), min(source.network_mbps, target.network_mbps))


def is_promoted(service: Service) -> bool:
    """Say whether a service is built anew on the target and promoted, whatever its method says."""
    return "directory" in service.roles


def method_for(service: Service, source: Spec, target: Spec) -> str:
    """Choose how a service is moved: as the inventory says; where it does not, by what it bears.

    It is converted, or replicated where copying would keep it down for longer than it may be.
    """
    if service.method_said or service.downtime_min is None or is_promoted(service):
        return service.method
    down_min = 60.0 * (copy_hours(service, source, target) + WAY_BACK_HOURS)
    return service.method if down_min <= service.downtime_min else "replicate"


def move_hours(service: Service, source: Spec, target: Spec, method: str) -> float:
    """Compute the hours of a move by a method: setting up, copying and checks."""
    if is_promoted(service):
        return PROMOTE_HOURS + TEST_HOURS
    copied = copy_hours(service, source, target) * COPY_SHARE.get(method, 1.0)
    return SETUP_HOURS.get(method, SETUP_HOURS["convert"]) + copied + TEST_HOURS


def set_up_again_hours(service: Service, box: Spec) -> float:
    """Compute the hours to set a service up again on its own box once that is rebuilt under it.

    All its data come back from its backup: with one machine there is no replica that would only catch up.
    """
    if is_promoted(service):
        return PROMOTE_HOURS
    setup_h = SETUP_HOURS.get(service.method, SETUP_HOURS["convert"])
    return setup_h + copy_hours(service, box, box)


def down_hours(service: Service, source: Spec, target: Spec, method: str) -> float:
    """Compute hours of outage while a service moves: copying where it is stopped for it, and the switch."""
    if is_promoted(service) or method == "replicate":
        return WAY_BACK_HOURS
    return copy_hours(service, source, target) + WAY_BACK_HOURS
