"""What the judge looks at, what it finds, and how it compares and writes numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from planner.ledger import Ledger, ledger
from planner.site import Site
from planner.state import Machine, State, role_today, state_today

TOLERANCE = 1e-6
"""Relative excess over a limit that is taken for rounding (absolute for limits under 1)."""


@dataclass(frozen=True)
class Breach:
    """A broken rule: its name, the thing it is broken at, and a sentence with numbers and units."""

    rule: str
    where: str
    message: str


Finding: TypeAlias = tuple[str, str]
"""Where a rule is broken, and the sentence that says how."""


@dataclass(frozen=True)
class Trial:
    """A state of a site before the judge. ``moving``: it is a moment between two states.

    A moment on the way is not blamed for what is already so today.
    """

    site: Site
    state: State
    moving: bool = False

    @cached_property
    def book(self) -> Ledger:
        """The state's ledger; ValueError when its room never settles."""
        return ledger(self.site, self.state)

    @cached_property
    def unsettled(self) -> str:
        """Why the state cannot be added up, such as a room with no path for its heat; '' when it can."""
        try:
            ledger(self.site, self.state)
        except ValueError as error:
            return str(error)
        return ""

    @cached_property
    def today(self) -> State:
        """The state before anything is done."""
        return state_today(self.site)

    @cached_property
    def running(self) -> frozenset[str]:
        """The cooling options that run in some season."""
        return frozenset[str]().union(*self.state.cooling.values())

    def excused(self, machine: Machine) -> bool:
        """Say whether a moment on the way leaves a box with nothing on it but what it carries today."""
        if not self.moving or machine.box is None:
            return False
        today = frozenset(item.name for item in self.site.services if item.box == machine.box)
        return machine.role is role_today(self.site, machine.box) and today.issuperset(machine.services)

    def carriers(self, service: str) -> tuple[Machine, ...]:
        """Give the machines that carry a service."""
        return self.state.where(service)


Rule: TypeAlias = Callable[[Trial], Iterator[Finding]]
"""A rule of the judge; its function's name is its name."""


def exceeds(value: float, limit: float) -> bool:
    """Say whether a value is over a limit by more than rounding; a value that is no number is over."""
    return not value <= limit + TOLERANCE * max(1.0, abs(limit))


def differs(value: float, other: float, share: float = TOLERANCE) -> bool:
    """Say whether two values differ by more than a share of the other; what is no number differs."""
    return not abs(value - other) <= share * max(1.0, abs(other))


def number(value: float) -> str:
    """Write a number with at most three decimals and no trailing zeros."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def listed(names: frozenset[str] | set[str]) -> str:
    """Write names in alphabetical order."""
    return ", ".join(sorted(names))
