"""What is switched on at one moment: before, after, and every step between are states."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import count

from planner.domain.machines import Role, Spec
from planner.domain.site import Site


@dataclass(frozen=True)
class Machine:
    """One machine that is switched on: a box of the site, or one unit of a kind.

    ``name`` is unique in a state; a box keeps its own name. Exactly one of ``box`` and ``kind`` is given.
    A re-used box has role HOST; a box left as it is has the role it has today.
    """

    name: str
    role: Role
    circuit: str
    services: tuple[str, ...]
    box: str | None = None
    kind: str | None = None

    def spec(self, site: Site) -> Spec:
        """Look up what the machine has; KeyError when the site does not know it."""
        return site.box[self.box].spec if self.box is not None else site.kind[self.kind or ""].spec

    def on_ups(self, site: Site) -> bool:
        """Say whether its power comes through the UPS."""
        return site.box[self.box].on_ups if self.box is not None else site.kind[self.kind or ""].on_ups


@dataclass(frozen=True)
class State:
    """Machines that are on, measures taken, and by season the cooling options that run."""

    machines: tuple[Machine, ...]
    measures: frozenset[str] = frozenset()
    cooling: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def where(self, service: str) -> tuple[Machine, ...]:
        """Look up the machines that carry a service (two while it is being copied)."""
        return self._carriers.get(service, ())

    @cached_property
    def _carriers(self) -> dict[str, tuple[Machine, ...]]:
        found: dict[str, list[Machine]] = {}
        for machine in self.machines:
            for name in dict.fromkeys(machine.services):
                found.setdefault(name, []).append(machine)
        return {name: tuple(machines) for name, machines in found.items()}


def unit_names(site: Site, kind: str) -> Iterator[str]:
    """Name the units of a kind, one after the other: the kind's name and a number, past all names taken.

    This is the only place that makes such names. They end in a number after their last hyphen, so two kinds
    share none.
    """
    numbered = (f"{kind}-{number}" for number in count(1))
    return (name for name in numbered if name not in site.names)


def with_free_names(site: Site, state: State) -> State:
    """Rename units whose names another thing of the site has, or another machine of the state."""
    used = {machine.name for machine in state.machines if machine.box is not None}
    own = Counter(machine.name for machine in state.machines)
    machines = []
    for machine in state.machines:
        name = machine.name
        if machine.kind is not None and (name in site.names or name in used):
            free = (each for each in unit_names(site, machine.kind) if each not in used and not own[each])
            name = next(free)
        used.add(name)
        machines.append(replace(machine, name=name))
    return replace(state, machines=tuple(machines))


def role_today(site: Site, box: str) -> Role:
    """Look up the role a box has today."""
    return Role.HOST if site.box[box].hosts_today else Role.BARE


def state_today(site: Site) -> State:
    """Build the state before anything is done: every box on, no measure taken, today's cooling."""
    residents: dict[str, list[str]] = {}
    for service in site.services:
        residents.setdefault(service.box, []).append(service.name)
    machines = tuple(
        Machine(
            name=box.name,
            role=role_today(site, box.name),
            circuit=box.circuit,
            services=tuple(residents.get(box.name, ())),
            box=box.name,
        )
        for box in site.boxes
    )
    cooling = {
        season.name: frozenset(option.name for option in site.cooling if season.name in option.runs_today)
        for season in site.seasons
    }
    return State(machines=machines, cooling=cooling)
