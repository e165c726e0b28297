"""The frozen domain: what a site is, with every rule resolved and every figure in one unit.

Nothing here computes. Names carry their unit. Objects keep in ``assumed`` the names of the figures that
nobody measured or declared, so that every face can mark them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from planner.domain.air import Cooling, Room, Season
from planner.domain.machines import Box, Circuit, Gear, Kind, Supply
from planner.domain.measures import ROOM, Measure
from planner.domain.rules import Apart, Policy, Quorum, Together, Windows
from planner.domain.services import Service
from planner.domain.sound import Listener


@dataclass(frozen=True)
class Site:
    """Everything in one inventory, resolved. ``slots`` is 1, 24 or 168 hours of load."""

    name: str
    currency: str
    room: Room
    listeners: tuple[Listener, ...]
    seasons: tuple[Season, ...]
    supply: Supply
    cooling: tuple[Cooling, ...]
    policy: Policy
    boxes: tuple[Box, ...]
    services: tuple[Service, ...]
    gear: tuple[Gear, ...]
    kinds: tuple[Kind, ...]
    measures: tuple[Measure, ...]
    together: tuple[Together, ...] = ()
    apart: tuple[Apart, ...] = ()
    quorums: tuple[Quorum, ...] = ()
    slots: int = 1
    windows: Windows = field(default_factory=Windows)

    @cached_property
    def box(self) -> Mapping[str, Box]:
        """Boxes by name."""
        return {item.name: item for item in self.boxes}

    @cached_property
    def kind(self) -> Mapping[str, Kind]:
        """Kinds by name."""
        return {item.name: item for item in self.kinds}

    @cached_property
    def service(self) -> Mapping[str, Service]:
        """Services by name."""
        return {item.name: item for item in self.services}

    @cached_property
    def measure(self) -> Mapping[str, Measure]:
        """Measures by name."""
        return {item.name: item for item in self.measures}

    @cached_property
    def cooling_option(self) -> Mapping[str, Cooling]:
        """Cooling options by name."""
        return {item.name: item for item in self.cooling}

    @cached_property
    def circuit(self) -> Mapping[str, Circuit]:
        """Circuits by name."""
        return {item.name: item for item in self.supply.circuits}

    @cached_property
    def names(self) -> frozenset[str]:
        """Every name that something here has, whatever its section, and that of the room."""
        sections = (
            self.boxes,
            self.services,
            self.gear,
            self.kinds,
            self.measures,
            self.cooling,
            self.listeners,
            self.seasons,
            self.supply.circuits,
        )
        return frozenset({ROOM, *(item.name for section in sections for item in section)})

    @cached_property
    def group(self) -> Mapping[str, tuple[str, ...]]:
        """By service, those that must share a machine with it, itself included, in the site's order."""
        merged: dict[str, set[str]] = {item.name: {item.name} for item in self.services}
        for rule in self.together:
            union = set[str]().union(*(merged[name] for name in rule.services))
            merged.update(dict.fromkeys(union, union))
        place = {item.name: index for index, item in enumerate(self.services)}
        ordered = {id(names): tuple(sorted(names, key=place.__getitem__)) for names in merged.values()}
        return {name: ordered[id(names)] for name, names in merged.items()}
