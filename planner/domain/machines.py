"""Machines, other gear and the electricity they hang on, as frozen data."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from planner.domain.sound import Sound


class Role(StrEnum):
    """What a machine is for: a host carries virtual machines, the others carry services directly."""

    BARE = "bare"
    HOST = "host"
    APPLIANCE = "appliance"
    TOWER = "tower"


@dataclass(frozen=True)
class Spec:
    """What a machine has to give and what it takes; capacities are usable ones (after RAID)."""

    cpu: float
    cores: float
    memory_gib: float
    disk_gb: float
    iops: float
    network_mbps: float
    idle_w: float
    peak_w: float
    sound: Sound
    rack_u: int = 0
    offers: frozenset[str] = frozenset()
    zones: int = 1
    gpu_memory_gib: float = 0.0


@dataclass(frozen=True)
class Box:
    """A physical machine that is there today.

    ``hosts_today``: it carries virtual machines already. ``may_host``: it may be re-used as a host.
    ``stays``: the reason why it must stay switched on whatever runs there, or None.
    """

    name: str
    spec: Spec
    circuit: str
    hosts_today: bool = False
    may_host: bool = False
    reuse_price: float = 0.0
    reuse_hours: float = 0.0
    stays: str | None = None
    on_ups: bool = False
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Kind:
    """A machine that may be bought or built, up to ``max_units`` of it."""

    name: str
    role: Role
    spec: Spec
    price: float
    max_units: int
    hours: float = 0.0
    on_ups: bool = False
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Gear:
    """A thing that is no server but makes noise or heat. ``leaves_room_w`` is power that heats elsewhere."""

    name: str
    power_w: float
    sound: Sound
    circuit: str
    leaves_room_w: float = 0.0
    rack_u: int = 0
    on_ups: bool = False
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Circuit:
    """A branch circuit: breaker and voltage; ``continuous_w`` is what it may carry for hours."""

    name: str
    volts: float
    breaker_a: float
    continuous_w: float

    @property
    def breaker_w(self) -> float:
        """What the breaker bears for a moment, such as while a machine starts, W."""
        return self.volts * self.breaker_a


@dataclass(frozen=True)
class Supply:
    """Electricity: circuits, what a kWh costs, and the UPS efficiency for what hangs on it (1: no UPS).

    ``ups_wh`` is the energy its batteries give, where it is known.
    """

    circuits: tuple[Circuit, ...]
    price_kwh: float
    ups_efficiency: float = 1.0
    co2_kg_per_kwh: float | None = None
    ups_wh: float | None = None
