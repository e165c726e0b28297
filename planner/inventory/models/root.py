"""The whole file: its sections, the site's name, and the person's policy."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema

from planner.domain.rules import Aim
from planner.inventory.models.machines import Boxes, GearItems, Kinds
from planner.inventory.models.measures import Measures
from planner.inventory.models.places import (
    CoolingOptions,
    Listeners,
    RoomModel,
    Seasons,
    SupplyModel,
)
from planner.inventory.models.readings import Readings
from planner.inventory.models.resources import HeadroomModel
from planner.inventory.models.services import RulesModel, Services
from planner.inventory.models.types import (
    MemoryGib,
    Money,
    Name,
    Number,
    Section,
    Share,
    TemperatureC,
    Text,
    choice,
)
from planner.inventory.models.windows import WindowsModel
from planner.inventory.text.errors import show
from planner.inventory.text.units import UnitError, parse_whole

AIMS = tuple(aim.value for aim in Aim)


def parse_aims(value: Any) -> tuple[Aim, ...]:
    """Read the order of aims: some or all of them, each once; UnitError otherwise."""
    words = value if isinstance(value, list) else [value]
    strange = [show(word) for word in words if word not in AIMS]
    if strange or not words:
        raise UnitError(f"{', '.join(strange) or 'nothing'}?", f"write aims from: {', '.join(AIMS)}")
    if len(set(words)) < len(words):
        raise UnitError("an aim stands there twice.", "Name each once.")
    return tuple(Aim(word) for word in words)


Aims = Annotated[
    tuple[Aim, ...],
    BeforeValidator(parse_aims),
    WithJsonSchema({"type": "array", "items": {"enum": list(AIMS)}, "uniqueItems": True}),
]


MOST_SPARES = 3


def parse_spares(value: Any) -> int:
    """Read how many hosts may be lost at once; UnitError unless it is 0 to `MOST_SPARES`."""
    count = parse_whole(value)
    if count > MOST_SPARES:
        raise UnitError(f"{count} spare hosts?", f"write 0 to {MOST_SPARES}: so many may be lost at once")
    return count


Spares = Annotated[int, BeforeValidator(parse_spares), WithJsonSchema({"enum": [*range(MOST_SPARES + 1)]})]


EquipmentClass = Annotated[str, *choice("equipment class", "A1", "A2", "A3", "A4")]


class SiteModel(Section):
    """The site's name and money."""

    name: Name | None = Field(default=None, description="Name of the site.")
    currency: Name | None = Field(default=None, description="Currency of all prices.")


class PolicyModel(Section):
    """The person's limits and wishes."""

    aims: Aims | None = Field(default=None, description="What counts, most important first.")
    headroom: HeadroomModel = Field(default_factory=HeadroomModel, description="Share kept free.")
    vcpu_per_core: Number | None = Field(default=None, description="Virtual cores to a physical one.")
    host_memory_gib: MemoryGib | None = Field(
        default=None, alias="host_memory", description="A host's own memory."
    )
    guest_memory_gib: MemoryGib | None = Field(
        default=None, alias="guest_memory", description="A host's memory for each guest on top of its own."
    )
    host_cpu_share: Share | None = Field(default=None, description="Share of CPU that a host takes itself.")
    budget: Money | None = Field(default=None, description="Most that may be spent.")
    monthly_budget: Money | None = Field(
        default=None, description="Most that may be spent in one calendar month, while work has dates."
    )
    labour_per_hour: Money | None = Field(default=None, description="What an hour of work costs.")
    inlet_limit_c: TemperatureC | None = Field(
        default=None, alias="inlet_limit", description="Warmest air that machines may breathe."
    )
    alarm_c: TemperatureC | None = Field(
        default=None, alias="alarm", description="Temperature at which the room's alarm goes off."
    )
    equipment_class: EquipmentClass | None = Field(
        default=None, alias="equipment", description="ASHRAE class whose allowed air is judged: A1 to A4."
    )
    spare_hosts: Spares | None = Field(default=None, description="Hosts that may be lost at once: 0 to 3.")


class InventoryModel(Section):
    """An inventory file."""

    site: SiteModel = Field(default_factory=SiteModel, description="The site's name and money.")
    room: RoomModel = Field(description="The room that holds the machines.")
    listeners: Listeners = Field(min_length=1, description="Positions where the level counts.")
    seasons: Seasons | None = Field(default=None, description="Design conditions; hours add up to 8760.")
    supply: SupplyModel = Field(description="Electricity.")
    cooling: CoolingOptions = Field(default={}, description="Ways to take heat out.")
    policy: PolicyModel = Field(default_factory=PolicyModel, description="Limits and wishes.")
    boxes: Boxes = Field(min_length=1, description="Physical machines there are today.")
    services: Services = Field(min_length=1, description="Workloads.")
    gear: GearItems = Field(default={}, description="Other things that make noise or heat.")
    catalogue: Kinds = Field(default={}, description="Machines that may be bought or built.")
    catalogue_file: Text | None = Field(
        default=None, description="File with a catalogue section, relative to this one."
    )
    measures: Measures = Field(default={}, description="Quieting steps.")
    readings: Readings = Field(default={}, description="Today's level at listeners, as a meter shows it.")
    rules: RulesModel = Field(default_factory=RulesModel, description="Rules between services.")
    windows: WindowsModel = Field(default_factory=WindowsModel, description="When work may be done.")
