"""What the judge looks at, what it finds, and how it compares and writes numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from planner.domain.site import Site
from planner.domain.state import Machine, State, role_today, state_today
from planner.ledger import Ledger, climate, draw, ledger
from planner.ledger.sums import heat_w, rack_u
from planner.tolerances import SHARE


@dataclass(frozen=True)
class Breach:
    """A broken rule: its name, the thing it is broken at, and a sentence with numbers and units."""

    rule: str
    where: str
    message: str


Finding: TypeAlias = tuple[str, str]
"""Where a rule is broken, and the sentence that says how."""


@dataclass(frozen=True)
class Room:
    """What a state asks of the room, without its sound: temperatures, circuits and rack units."""

    site: Site
    state: State

    @cached_property
    def warm(self) -> Mapping[str, tuple[float, float]]:
        """Collect by season the heat in the room, W, and its temperature, °C; ValueError: never settles."""
        found = {}
        for season in self.site.seasons:
            heat = heat_w(self.site, self.state, season)
            found[season.name] = heat, climate.temperature_c(self.site, season, self.state, heat)
        return found

    @cached_property
    def unsettled(self) -> str:
        """Why the room has no temperature, such as no path for its heat; '' when it has one."""
        try:
            self.warm  # noqa: B018
        except ValueError as error:
            return str(error)
        return ""

    @cached_property
    def circuits_w(self) -> Mapping[str, float]:
        """The greatest continuous load of each circuit, W."""
        return draw.circuit_loads_w(self.site, self.state)

    @cached_property
    def starts_w(self) -> Mapping[str, float]:
        """What each circuit is asked for while its greatest machine starts, W."""
        return draw.circuit_starts_w(self.site, self.state)

    @cached_property
    def rack_u(self) -> int:
        """The rack units taken."""
        return rack_u(self.site, self.state)


@dataclass(frozen=True)
class Trial:
    """A state of a site before the judge. ``moving``: it is a moment between two states.

    A moment on the way is not blamed for what is already so today. ``before`` is today's room, where it is
    known already.
    """

    site: Site
    state: State
    moving: bool = False
    before: Room | None = None

    @cached_property
    def book(self) -> Ledger:
        """The state's ledger; ValueError when its room never settles."""
        return ledger(self.site, self.state)

    @cached_property
    def room(self) -> Room:
        """What the state asks of the room."""
        return Room(self.site, self.state)

    @property
    def unsettled(self) -> str:
        """Why the state cannot be added up, such as a room with no path for its heat; '' when it can."""
        return self.room.unsettled

    @cached_property
    def then(self) -> Room:
        """What the state before anything is done asks of the room."""
        return self.before or Room(self.site, state_today(self.site))

    @property
    def today(self) -> State:
        """The state before anything is done."""
        return self.then.state

    @cached_property
    def running(self) -> frozenset[str]:
        """The cooling options that run in some season."""
        return frozenset[str]().union(*self.state.cooling.values())

    def excused(self, machine: Machine, names: Iterable[str] | None = None) -> bool:
        """Say whether a moment on the way leaves services (all that are there) on a box as they are today."""
        if not self.moving or machine.box is None:
            return False
        today = frozenset(item.name for item in self.site.services if item.box == machine.box)
        meant = machine.services if names is None else names
        return machine.role is role_today(self.site, machine.box) and today.issuperset(meant)

    def carriers(self, service: str) -> tuple[Machine, ...]:
        """List the machines that carry a service."""
        return self.state.where(service)


Rule: TypeAlias = Callable[[Trial], Iterator[Finding]]
"""A rule of the judge; its function's name is its name."""


def exceeds(value: float, limit: float) -> bool:
    """Say whether a value is over a limit by more than rounding; a value that is no number is over."""
    return not value <= limit + SHARE * max(1.0, abs(limit))


def differs(value: float, other: float, share: float = SHARE) -> bool:
    """Say whether two values differ by more than a share of the other; what is no number differs."""
    return not abs(value - other) <= share * max(1.0, abs(other))


def number(value: float) -> str:
    """Write a number with at most three decimals and no trailing zeros."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def listed(names: frozenset[str] | set[str]) -> str:
    """Write names in alphabetical order."""
    return ", ".join(sorted(names))
