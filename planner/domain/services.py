"""Services and what they take, by resource and hour, as frozen data."""

from __future__ import annotations

from dataclasses import dataclass

RESOURCES = ("cpu", "vcpu", "memory_gib", "disk_gb", "iops", "network_mbps")
"""cpu: reference cores used; vcpu: virtual cores allocated (limits hosts only); the rest as named."""


@dataclass(frozen=True)
class Demand:
    """What a service takes, per resource a tuple of one value or of one value an hour (``Site.slots``)."""

    cpu: tuple[float, ...]
    vcpu: tuple[float, ...]
    memory_gib: tuple[float, ...]
    disk_gb: tuple[float, ...]
    iops: tuple[float, ...]
    network_mbps: tuple[float, ...]

    def at(self, resource: str, slot: int) -> float:
        """Give the demand for a resource in an hour slot."""
        values: tuple[float, ...] = getattr(self, resource)
        return values[slot] if len(values) > 1 else values[0]

    @property
    def mean_cpu(self) -> float:
        """The mean CPU use in reference cores: it sets watts and fan speed over the year."""
        return sum(self.cpu) / len(self.cpu)


@dataclass(frozen=True)
class Service:
    """A workload; it runs on box ``box`` today. ``physical``: the reason it must not be a guest, or None."""

    name: str
    box: str
    demand: Demand
    physical: str | None = None
    stay_on: str | None = None
    needs: frozenset[str] = frozenset()
    zone: str = "default"
    roles: frozenset[str] = frozenset()
    restart: bool = True
    downtime_min: float | None = None
    depends_on: tuple[str, ...] = ()
    method: str = "convert"
    method_said: bool = True
    assumed: frozenset[str] = frozenset()
