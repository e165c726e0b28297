"""Services and the rules between them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import ConfigDict, Field, WithJsonSchema, model_validator

from planner.inventory.defaults.roles import ROLES
from planner.inventory.models.types import (
    DiskProfile,
    IopsProfile,
    MemoryProfile,
    Minutes,
    Name,
    NetworkProfile,
    Number,
    NumberProfile,
    Section,
    ShareProfile,
    Stay,
    Text,
    Whole,
    choice,
)
from planner.inventory.text.units import UnitError

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

RoleName = Annotated[str, *choice("role", *ROLES)]


def _memory_may_be_sampled(described: dict[str, Any]) -> None:
    """Tell editors that memory need not be written: samples may bring it."""
    described["required"].remove("memory")


class ServiceModel(Section):
    """A workload, what it takes and what it insists on."""

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
    samples: Samples | None = Field(
        default=None, description="CSV of its load, relative to this file, in place of figures by hand."
    )
    roles: tuple[RoleName, ...] = Field(default=(), description="What it is for; some roles bring rules.")
    stay_physical: Stay | None = Field(default=None, description="Why it must not be virtual; or no.")
    stay_on: Name | None = Field(default=None, description="The box it must stay on.")
    needs: tuple[Name, ...] = Field(default=(), description="Hardware it needs, such as usb-dongle.")
    zone: Name = Field(default="default", description="Network zone.")
    restart: Annotated[str, *choice("restart", "required", "optional")] = Field(
        default="required", description="Whether it must come back when a host is lost."
    )
    downtime_min: Minutes | None = Field(
        default=None, alias="downtime", description="Longest outage it bears."
    )
    depends_on: tuple[Name, ...] = Field(default=(), description="Services that must be up before it.")
    method: Annotated[str, *choice("method", "rebuild", "convert", "replicate")] = Field(
        default="convert", description="How it is moved."
    )

    @model_validator(mode="after")
    def _one_way(self) -> ServiceModel:
        if self.cpu is not None and self.load is not None:
            raise UnitError("both cpu and load?", "keep cpu, or cores with load")
        if self.cpu is None and (self.load is None or self.cores is None):
            raise UnitError("no CPU demand.", "Write cpu in reference cores, or cores and load.")
        return self


class GroupRule(Section):
    """Services that a rule ties together, and why."""

    services: tuple[Name, ...] = Field(min_length=2, description="The services.")
    because: Text = Field(description="Why.")


class QuorumRule(Section):
    """How many of some services must stay physical, and why."""

    services: tuple[Name, ...] = Field(min_length=1, description="The services.")
    physical: Whole = Field(default=1, description="How many of them must not be virtual.")
    because: Text = Field(description="Why.")

    @model_validator(mode="after")
    def _possible(self) -> QuorumRule:
        if self.physical > len(self.services):
            raise UnitError("more physical than services.", "Name more services, or ask for fewer.")
        return self


class RulesModel(Section):
    """Rules between services."""

    together: tuple[GroupRule, ...] = Field(default=(), description="Services that share a machine.")
    apart: tuple[GroupRule, ...] = Field(default=(), description="Services no two of which share a machine.")
    quorum: tuple[QuorumRule, ...] = Field(default=(), description="Services some of which stay physical.")


Services = Mapping[Name, ServiceModel]
