"""The room's air as frozen data: its seasons, and the ways to take heat out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from planner.domain.sound import Sound, Surface


@dataclass(frozen=True)
class Room:
    """The room that holds the sources. ``leak_m3_s`` is air exchanged with the surroundings by gaps.

    ``heat_capacity_j_k``: of air, walls and equipment together; None where nobody knows.
    """

    length_m: float
    width_m: float
    height_m: float
    surfaces: tuple[Surface, ...]
    ua_w_k: float
    leak_m3_s: float = 0.0
    altitude_m: float = 0.0
    rack_u: int | None = None
    assumed: frozenset[str] = frozenset()
    heat_capacity_j_k: float | None = None


@dataclass(frozen=True)
class Season:
    """A design condition: the surroundings' temperature and the hours a year it stands for.

    ``quiet``: the listeners' targets hold in it (False for the few hottest days). ``dew_point_c`` is that of
    the air in the room, where it is known.
    """

    name: str
    surroundings_c: float
    hours: float
    quiet: bool = True
    dew_point_c: float | None = None


@dataclass(frozen=True)
class Removal:
    """How a cooling option takes heat out in one season: a chilling capacity, or air at a temperature.

    ``recirculation`` is the share of the warm air behind the machines that comes round to their fronts: 1
    where the room is mixed, less where the supply is in front and the exhaust behind.
    """

    capacity_w: float = 0.0
    flow_m3_s: float = 0.0
    supply_c: float = 0.0
    recirculation: float = 1.0

    @property
    def inlet_flow_m3_s(self) -> float:
        """The airflow that, in a mixed room, would bring the machines' inlets to the same temperature.

        Inlet over supply is the recirculated share of the air's whole rise, as if more air moved.
        """
        return self.flow_m3_s / self.recirculation


@dataclass(frozen=True)
class Cooling:
    """A way to take heat out of the room. ``removal`` lists the seasons it can run in.

    ``duty`` is the share of the season's hours it draws ``power_w``. ``heats_room`` is the share of its own
    power that stays in the room. ``setpoint_c``: what it holds; air has none, and in a room shut on all sides
    nothing settles without one. ``requires`` names measures or other options that must be there with it.
    """

    name: str
    owned: bool
    power_w: float
    sound: Sound
    circuit: str
    removal: Mapping[str, Removal]
    runs_today: frozenset[str] = frozenset()
    duty: float = 1.0
    heats_room: float = 0.0
    setpoint_c: float | None = None
    price: float = 0.0
    hours: float = 0.0
    requires: frozenset[str] = frozenset()
    excludes: frozenset[str] = frozenset()
    cautions: tuple[str, ...] = ()
    assumed: frozenset[str] = frozenset()
