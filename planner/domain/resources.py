"""What machines have and services take: the resources as a table, and a demand by resource and hour.

Whoever goes through all resources iterates over ``RESOURCES``; a resource more is a row here and a field of
``Demand`` and ``Spec`` (DEVELOPERS.md, 'How to add').
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class Resource:
    """One resource. ``key``: what a person writes; ``label`` and ``unit``: how a sentence calls it.

    ``amount``: the unit with what it is of; ``digits`` are shown of a figure. ``headroom``: the share kept
    free on what a plan builds, where the person says nothing. ``allotted``: handed out in a ratio over what
    is there, so that it limits hosts only and machines have no figure of it. ``listed``: lists of machines
    and of services have a column for it. ``detailed``: it is told of one machine or service that has some.
    """

    key: str
    label: str
    unit: str
    amount: str
    digits: int = 4
    headroom: float = 0.20
    allotted: bool = False
    listed: bool = False
    detailed: bool = False

    def text(self, figure: float) -> str:
        """Write a figure with its unit and what it is of, in the significant digits it has."""
        return f"{figure:.{self.digits}g} {self.amount}"


RESOURCES: Mapping[str, Resource] = MappingProxyType(
    {
        "cpu": Resource("cpu", "CPU", "reference cores", "reference cores", digits=2),
        "vcpu": Resource("vcpu", "virtual CPU", "virtual cores", "virtual cores", allotted=True),
        "memory_gib": Resource("memory", "memory", "GiB", "GiB of memory", digits=3, listed=True),
        "disk_gb": Resource("disk", "disk", "GB", "GB of disk", headroom=0.15, listed=True),
        "iops": Resource("iops", "disk operations", "IOPS", "IOPS"),
        "network_mbps": Resource("network", "network", "Mbit/s", "Mbit/s"),
        "gpu_memory_gib": Resource(
            "gpu_memory", "GPU memory", "GiB", "GiB of GPU memory", digits=3, headroom=0.0, detailed=True
        ),
    }
)
"""By the field of ``Demand`` and ``Spec``. Headroom by trade habit: 15 to 30 %; none of GPU memory."""

INSTALLED = tuple(name for name, resource in RESOURCES.items() if not resource.allotted)
"""Resources of which a machine has a figure."""

LISTED = tuple(name for name, resource in RESOURCES.items() if resource.listed)
"""Resources that have a column in lists of machines and of services."""

DETAILED = tuple(name for name, resource in RESOURCES.items() if resource.detailed)
"""Resources that only few machines have: told of one machine or service, where it has some."""


@dataclass(frozen=True)
class Demand:
    """What a service takes, per resource a tuple of one value or of one value an hour (``Site.slots``)."""

    cpu: tuple[float, ...]
    vcpu: tuple[float, ...] = (0.0,)
    memory_gib: tuple[float, ...] = (0.0,)
    disk_gb: tuple[float, ...] = (0.0,)
    iops: tuple[float, ...] = (0.0,)
    network_mbps: tuple[float, ...] = (0.0,)
    gpu_memory_gib: tuple[float, ...] = (0.0,)

    def by_hour(self, resource: str) -> tuple[float, ...]:
        """Look up what is taken of a resource: one value, or one an hour."""
        values: tuple[float, ...] = getattr(self, resource)
        return values

    def at(self, resource: str, hour: int) -> float:
        """Look up what is taken of a resource in an hour."""
        values: tuple[float, ...] = getattr(self, resource)
        return values[hour] if len(values) > 1 else values[0]

    @property
    def mean_cpu(self) -> float:
        """The mean CPU use in reference cores: it sets watts and fan speed over the year."""
        return sum(self.cpu) / len(self.cpu)
