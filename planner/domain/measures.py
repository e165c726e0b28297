"""Quieting measures and what they do to a source or to the room, as frozen data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from planner.domain.sound import Bands, Sound, Surface

ROOM = "room"
"""The target name of a measure on the room itself."""


@dataclass(frozen=True)
class SourceEffect:
    """What a measure does to one source: less sound, another sound, other power, or out of the room with it.

    Only gear leaves the room. ``removes``: it is gone, with its watts. ``elsewhere``: it works on in another
    room, so that its watts stay on bill and circuit, but its heat, its sound and its rack units go.
    """

    reduction_db: Bands = (0.0,) * 8
    sound: Sound | None = None
    power_delta_w: float = 0.0
    removes: bool = False
    elsewhere: bool = False

    @property
    def takes_out(self) -> bool:
        """Whether the source is in the room no more."""
        return self.removes or self.elsewhere


@dataclass(frozen=True)
class RoomEffect:
    """What a measure does to the room: added absorption, better partition elements, less or more leak.

    ``elements`` maps a partition element's name to its new transmission loss (every listener that has it).
    """

    surfaces: tuple[Surface, ...] = ()
    elements: Mapping[str, Bands] = field(default_factory=dict)
    leak_delta_m3_s: float = 0.0
    ua_delta_w_k: float = 0.0


@dataclass(frozen=True)
class Measure:
    """A quieting step on a box, a piece of gear, a cooling option (``target``) or the room (``ROOM``)."""

    name: str
    target: str
    source_effect: SourceEffect | None = None
    room_effect: RoomEffect | None = None
    price: float = 0.0
    hours: float = 0.0
    cautions: tuple[str, ...] = ()
    excludes: frozenset[str] = frozenset()
    requires: frozenset[str] = frozenset()
    allowed: bool = True
    assumed: frozenset[str] = frozenset()
