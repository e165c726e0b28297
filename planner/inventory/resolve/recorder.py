"""Keeps account of the defaults that are taken while a site is made."""

from __future__ import annotations

from typing import TypeVar

from planner.domain.air import Room
from planner.inventory.loaded import Default

Value = TypeVar("Value")


def percent(share: float) -> str:
    """Write a share (0 to 1) as a file would."""
    return f"{100 * share:.0f} %"


class Recorder:
    """Collects every default with its path, written value and reason.

    ``room`` is the room that sources were read in, as soon as it is known.
    """

    def __init__(self) -> None:
        self._defaults: list[Default] = []
        self.room: Room | None = None

    def take(self, given: Value | None, default: Value, path: str, written: str, why: str) -> Value:
        """Find the written value, or the default, which is then recorded."""
        if given is not None:
            return given
        self.note(path, written, why)
        return default

    def note(self, path: str, written: str, why: str) -> None:
        """Record a default that was taken."""
        self._defaults.append(Default(path, written, why))

    @property
    def defaults(self) -> tuple[Default, ...]:
        """All defaults taken, in the order of taking."""
        return tuple(self._defaults)
