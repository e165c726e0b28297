"""The difference between a site today and a state to reach: what comes, goes, moves and is switched."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from planner.domain.machines import Role
from planner.domain.site import Site
from planner.domain.state import Machine, State, role_today, state_today


@dataclass(frozen=True)
class Change:
    """A site, a state to reach, and what differs between today and then."""

    site: Site
    target: State

    @cached_property
    def today(self) -> State:
        """The state today."""
        return state_today(self.site)

    @cached_property
    def goal(self) -> Mapping[str, Machine]:
        """The machine that carries each service in the target; KeyError for one it does not carry."""
        found = {name: machine for machine in self.target.machines for name in machine.services}
        return {service.name: found[service.name] for service in self.site.services}

    @cached_property
    def kept(self) -> Mapping[str, Machine]:
        """Boxes that are on in the target, as they are then."""
        return {machine.box: machine for machine in self.target.machines if machine.box is not None}

    @cached_property
    def bought(self) -> tuple[Machine, ...]:
        """Machines that come in."""
        return tuple(machine for machine in self.target.machines if machine.kind is not None)

    @cached_property
    def leaving(self) -> tuple[str, ...]:
        """Boxes that are off in the target, in the site's order."""
        return tuple(box.name for box in self.site.boxes if box.name not in self.kept)

    @cached_property
    def rebuilt(self) -> tuple[str, ...]:
        """Boxes set up anew: in another role, or bare and emptied for other services."""
        return tuple(box.name for box in self.site.boxes if self._is_rebuilt(box.name))

    def _is_rebuilt(self, box: str) -> bool:
        machine = self.kept.get(box)
        if machine is None:
            return False
        if machine.role is not role_today(self.site, box):
            return True
        residents = self.residents[box]
        stay = any(name in machine.services for name in residents)
        return machine.role is Role.BARE and bool(residents and machine.services) and not stay

    @cached_property
    def replugged(self) -> tuple[str, ...]:
        """Boxes kept as they are on another circuit."""
        return tuple(
            box.name
            for box in self.site.boxes
            if box.name in self.kept
            and box.name not in self.rebuilt
            and self.kept[box.name].circuit != box.circuit
        )

    @cached_property
    def residents(self) -> Mapping[str, tuple[str, ...]]:
        """Services on each box today."""
        return {
            box.name: tuple(item.name for item in self.site.services if item.box == box.name)
            for box in self.site.boxes
        }

    @cached_property
    def moved(self) -> tuple[str, ...]:
        """Services that change machine or are set up anew, in the site's order."""
        return tuple(
            item.name
            for item in self.site.services
            if self.goal[item.name].box != item.box or item.box in self.rebuilt
        )

    @cached_property
    def in_place(self) -> frozenset[str]:
        """Moved services whose box is rebuilt under them: they are down meanwhile."""
        return frozenset(name for name in self.moved if self.goal[name].box == self.site.service[name].box)

    def leavers(self, box: str) -> tuple[str, ...]:
        """List the services that leave a box for another machine."""
        return tuple(name for name in self.residents[box] if self.goal[name].box != box)

    def arrivals(self, machine: Machine) -> tuple[str, ...]:
        """List the services that move onto a machine of the target."""
        return tuple(name for name in machine.services if name in self.moved)

    @cached_property
    def held(self) -> tuple[str, ...]:
        """Boxes that are switched off and kept intact for a while: those that leave, and emptied ones."""
        emptied = [
            box
            for box in self.rebuilt
            if self.residents[box]
            and len(self.leavers(box)) == len(self.residents[box])
            and self.site.box[box].stays is None
        ]
        return (*self.leaving, *emptied)

    @cached_property
    def measures(self) -> tuple[str, ...]:
        """Measures to apply, in the site's order."""
        return tuple(item.name for item in self.site.measures if item.name in self.target.measures)

    def _switched(self, names: str, into: State, out_of: State) -> bool:
        none: frozenset[str] = frozenset()
        return any(
            names in into.cooling.get(season.name, none) - out_of.cooling.get(season.name, none)
            for season in self.site.seasons
        )

    @cached_property
    def cooling_on(self) -> tuple[str, ...]:
        """Cooling options that run in more seasons than today."""
        return tuple(i.name for i in self.site.cooling if self._switched(i.name, self.target, self.today))

    @cached_property
    def cooling_off(self) -> tuple[str, ...]:
        """Cooling options that stop in a season in which they run today."""
        return tuple(i.name for i in self.site.cooling if self._switched(i.name, self.today, self.target))

    def is_new_cooling(self, option: str) -> bool:
        """Say whether a cooling option does not run at all today."""
        return not any(option in names for names in self.today.cooling.values())
