"""Services and the rules between them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field, model_validator

from planner.inventory.defaults.roles import ROLES
from planner.inventory.models.resources import TakesModel
from planner.inventory.models.types import (
    Minutes,
    Name,
    Section,
    Stay,
    Text,
    Whole,
    choice,
)
from planner.inventory.text.units import UnitError

RoleName = Annotated[str, *choice("role", *ROLES)]


class ServiceModel(TakesModel):
    """A workload, what it takes and what it insists on."""

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
