"""Resources as a person writes them: what machines have, what services take, and the shares kept free.

A resource is a field of `HasModel` and of `TakesModel`, named as in `domain.resources` with its key as the
alias, and by its key a field of `HeadroomModel`.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, Field, WithJsonSchema, model_validator

from planner.inventory.models.types import (
    Capacity,
    DiskGb,
    DiskProfile,
    Iops,
    IopsProfile,
    MemoryGib,
    MemoryProfile,
    Name,
    NetworkMbps,
    NetworkProfile,
    Number,
    NumberProfile,
    OneDiskGb,
    Section,
    Share,
    ShareProfile,
    Whole,
    choice,
)
from planner.inventory.text.errors import show
from planner.inventory.text.units import UnitError
from planner.physics.storage import RAID_LEVELS, raid_usable

NO_RAID = "none"
RAID_WORDS = (NO_RAID, *(str(level) for level in RAID_LEVELS))
DISK_TYPES = {
    "5400 rpm": "disk-5400",
    "7200 rpm": "disk-7200",
    "10k rpm": "disk-10k",
    "15k rpm": "disk-15k",
    "sata ssd": "ssd-sata",
    "nvme ssd": "ssd-nvme",
}
"""Written sort of disk to its entry in the physics table of operations a second."""


def parse_raid(value: Any) -> str:
    """Read a RAID level; UnitError when it is not in the table."""
    text = str(value).lower().removeprefix("raid").strip()
    if isinstance(value, bool) or text not in RAID_WORDS:
        raise UnitError(f"RAID {show(value)} is not known.", f"Write one of {', '.join(RAID_WORDS)}.")
    return text


SAMPLES_FORM = {
    "anyOf": [
        {"type": "string", "examples": ["samples/db.csv"]},
        {
            "type": "object",
            "properties": {"file": {"type": "string"}, "by": {"enum": ["all", "day", "week"]}},
            "required": ["file"],
            "additionalProperties": False,
        },
    ],
    "description": "a file, or {file: samples/db.csv, by: week}",
}
Samples = Annotated[Any, WithJsonSchema(SAMPLES_FORM)]
"""Read and checked by `planner.inventory.samples`, before the form of a file is."""


def _memory_may_be_sampled(described: dict[str, Any]) -> None:
    """Tell editors that memory need not be written: samples may bring it."""
    described["required"].remove("memory")


class DisksModel(Section):
    """Equal disks in one array."""

    count: Whole = Field(description="How many disks.")
    size_gb: OneDiskGb = Field(alias="size", description="Size of one disk.")
    raid: Annotated[
        str, BeforeValidator(parse_raid), Field(json_schema_extra={"type": ["string", "integer"]})
    ] = Field(default=NO_RAID, description="RAID level, or none.")
    sort: Annotated[str, *choice("disk type", *DISK_TYPES)] = Field(
        default="7200 rpm", alias="type", description="Sort of disk; it sets the operations a second."
    )
    write_share: Share | None = Field(
        default=None, alias="writes", description="Share of operations that write."
    )

    @model_validator(mode="after")
    def _possible(self) -> DisksModel:
        if self.count == 0:
            raise UnitError("no disks.", "Write how many there are.")
        if self.raid != NO_RAID:
            try:
                raid_usable(int(self.raid), self.count, 1.0)
            except ValueError as error:
                raise UnitError(f"{error}.", "Change the count or the RAID level.") from None
        return self


class HasModel(Section):
    """What a machine has of each resource."""

    cpu: Capacity | None = Field(
        default=None, description="Reference cores it has to give; else cores x score."
    )
    cores: Capacity | None = Field(default=None, description="Physical cores.")
    score: Capacity = Field(default=1.0, description="Speed of one core against the reference core.")
    memory_gib: MemoryGib = Field(alias="memory", description="Memory.")
    disk_gb: DiskGb | None = Field(default=None, alias="disk", description="Usable disk space, after RAID.")
    disks: DisksModel | None = Field(
        default=None, description="Disks, from which space and operations follow."
    )
    iops: Iops | None = Field(default=None, description="Disk operations a second it can do.")
    network_mbps: NetworkMbps | None = Field(default=None, alias="network", description="Network rate.")
    gpu_memory_gib: MemoryGib = Field(default=0.0, alias="gpu_memory", description="Memory of its GPUs.")

    @model_validator(mode="after")
    def _complete(self) -> HasModel:
        if self.cpu is None and self.cores is None:
            raise UnitError("no CPU.", "Write cores (and score), or cpu in reference cores.")
        if self.disk_gb is not None and self.disks is not None:
            raise UnitError("both disk and disks?", "keep disks, or the usable space alone")
        return self


class TakesModel(Section):
    """What a service takes of each resource, on the box it runs on today."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, populate_by_name=False, json_schema_extra=_memory_may_be_sampled
    )

    box: Name = Field(description="Box it runs on today.")
    cpu: NumberProfile | None = Field(
        default=None, description="Reference cores used (P95), or hourly values."
    )
    cores: Number | None = Field(default=None, description="Cores it has now, in place of cpu.")
    load: ShareProfile | None = Field(default=None, description="Use of those cores (P95), or hourly values.")
    vcpu: NumberProfile | None = Field(default=None, description="Virtual cores to give it.")
    memory_gib: MemoryProfile = Field(alias="memory", description="Memory it needs.")
    disk_gb: DiskProfile = Field(alias="disk", description="Disk space it needs.")
    iops: IopsProfile | None = Field(default=None, description="Disk operations a second.")
    network_mbps: NetworkProfile | None = Field(default=None, alias="network", description="Network rate.")
    gpu_memory_gib: MemoryProfile = Field(
        default=(0.0,), alias="gpu_memory", description="GPU memory it needs."
    )
    samples: Samples | None = Field(
        default=None, description="CSV of its load, relative to this file, in place of figures by hand."
    )

    @model_validator(mode="after")
    def _one_way(self) -> TakesModel:
        if self.cpu is not None and self.load is not None:
            raise UnitError("both cpu and load?", "keep cpu, or cores with load")
        if self.cpu is None and (self.load is None or self.cores is None):
            raise UnitError("no CPU demand.", "Write cpu in reference cores, or cores and load.")
        return self


class HeadroomModel(Section):
    """Share kept free on what a plan builds."""

    cpu: Share | None = Field(default=None, description="Of the CPU.")
    memory: Share | None = Field(default=None, description="Of the memory.")
    disk: Share | None = Field(default=None, description="Of the disk space.")
    iops: Share | None = Field(default=None, description="Of the disk operations.")
    network: Share | None = Field(default=None, description="Of the network.")
    gpu_memory: Share | None = Field(default=None, description="Of the GPU memory.")
