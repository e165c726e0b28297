"""What the person rules: aims in order, who shares a machine with whom, limits, maintenance windows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from enum import StrEnum


class Aim(StrEnum):
    """What a plan is made better at; the person gives the order."""

    SOUND = "sound"
    POWER = "power"
    COST = "cost"
    CHANGE = "change"


@dataclass(frozen=True)
class Together:
    """Services that must share a machine, and why."""

    services: frozenset[str]
    because: str


@dataclass(frozen=True)
class Apart:
    """Services of which no two may share a machine, and why."""

    services: frozenset[str]
    because: str


@dataclass(frozen=True)
class Quorum:
    """At least ``physical`` of these services must not be guests, and why."""

    services: frozenset[str]
    physical: int
    because: str


@dataclass(frozen=True)
class Policy:
    """The person's limits and wishes; ``headroom``: share per resource kept free on what a plan builds."""

    aims: tuple[Aim, ...] = (Aim.SOUND, Aim.POWER, Aim.COST, Aim.CHANGE)
    headroom: Mapping[str, float] = field(default_factory=dict)
    vcpu_per_core: float = 4.0
    host_memory_gib: float = 4.0
    guest_memory_gib: float = 0.25
    host_cpu_share: float = 0.1
    budget: float | None = None
    monthly_budget: float | None = None
    labour_per_hour: float = 0.0
    inlet_limit_c: float = 27.0
    spare_hosts: int = 0
    alarm_c: float = 35.0
    equipment_class: str = "A2"


@dataclass(frozen=True)
class Recurring:
    """A maintenance window that comes every week: ``weekday`` 0 is Monday, ``start`` is local time."""

    weekday: int
    start: time
    hours: float


@dataclass(frozen=True)
class Windows:
    """When work may be done. No ``recurring``: the trade's habit; ``blackouts``: days without any window.

    ``start_date`` is the first day on which work may be done, ``crew`` how many people work at once.
    """

    timezone: str = "UTC"
    recurring: tuple[Recurring, ...] = ()
    blackouts: tuple[date, ...] = ()
    start_date: date | None = None
    crew: int = 1
