"""The frozen domain: what a site is, with every rule resolved and every figure in one unit.

Nothing here computes. Names carry their unit. Objects keep in ``assumed`` the names of the figures that
nobody measured or declared, so that every face can mark them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from enum import StrEnum
from functools import cached_property

Bands = tuple[float, ...]
"""Eight octave bands, 63 Hz to 8 kHz."""

RESOURCES = ("cpu", "vcpu", "memory_gib", "disk_gb", "iops", "network_mbps")
"""cpu: reference cores used; vcpu: virtual cores allocated (limits hosts only); the rest as named."""

ROOM = "room"
"""The target name of a measure on the room itself."""


class Role(StrEnum):
    """What a machine is for: a host carries virtual machines, the others carry services directly."""

    BARE = "bare"
    HOST = "host"
    APPLIANCE = "appliance"
    TOWER = "tower"


class Aim(StrEnum):
    """What a plan is made better at; the person gives the order."""

    SOUND = "sound"
    POWER = "power"
    COST = "cost"
    CHANGE = "change"


@dataclass(frozen=True)
class Sound:
    """A source's sound power, unweighted octave bands in dB re 1 pW, idle and loaded.

    ``inlet_steps`` are (up to °C, rise in dB), rising: fans speed up with warm air. Empty: no rise.
    ``origin`` says where the level came from: 'declared', 'measured' or 'assumed'.
    """

    idle_db: Bands
    loaded_db: Bands
    origin: str = "declared"
    plus_minus_db: float = 3.0
    inlet_steps: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Spec:
    """What a machine has to give and what it takes; capacities are usable ones (after RAID)."""

    cpu: float
    cores: float
    memory_gib: float
    disk_gb: float
    iops: float
    network_mbps: float
    idle_w: float
    peak_w: float
    sound: Sound
    rack_u: int = 0
    offers: frozenset[str] = frozenset()
    zones: int = 1


@dataclass(frozen=True)
class Box:
    """A physical machine that is there today.

    ``hosts_today``: it carries virtual machines already. ``may_host``: it may be re-used as a host.
    ``stays``: the reason why it must stay switched on whatever runs there, or None.
    """

    name: str
    spec: Spec
    circuit: str
    hosts_today: bool = False
    may_host: bool = False
    reuse_price: float = 0.0
    reuse_hours: float = 0.0
    stays: str | None = None
    on_ups: bool = False
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Kind:
    """A machine that may be bought or built, up to ``max_units`` of it."""

    name: str
    role: Role
    spec: Spec
    price: float
    max_units: int
    hours: float = 0.0
    on_ups: bool = False
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Demand:
    """What a service takes, per resource a tuple of one value or of one value an hour (``Site.slots``)."""

    cpu: tuple[float, ...]
    vcpu: tuple[float, ...]
    memory_gib: tuple[float, ...]
    disk_gb: tuple[float, ...]
    iops: tuple[float, ...]
    network_mbps: tuple[float, ...]

    def at(self, resource: str, slot: int) -> float:
        """Give the demand for a resource in an hour slot."""
        values: tuple[float, ...] = getattr(self, resource)
        return values[slot] if len(values) > 1 else values[0]

    @property
    def mean_cpu(self) -> float:
        """The mean CPU use in reference cores: it sets watts and fan speed over the year."""
        return sum(self.cpu) / len(self.cpu)


@dataclass(frozen=True)
class Service:
    """A workload; it runs on box ``box`` today. ``physical``: the reason it must not be a guest, or None."""

    name: str
    box: str
    demand: Demand
    physical: str | None = None
    stay_on: str | None = None
    needs: frozenset[str] = frozenset()
    zone: str = "default"
    roles: frozenset[str] = frozenset()
    restart: bool = True
    downtime_min: float | None = None
    depends_on: tuple[str, ...] = ()
    method: str = "convert"
    method_said: bool = True
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Together:
    """Services that must share a machine, and why."""

    services: frozenset[str]
    because: str


@dataclass(frozen=True)
class Apart:
    """Services of which no two may share a machine, and why."""

    services: frozenset[str]
    because: str


@dataclass(frozen=True)
class Quorum:
    """At least ``physical`` of these services must not be guests, and why."""

    services: frozenset[str]
    physical: int
    because: str


@dataclass(frozen=True)
class Gear:
    """A thing that is no server but makes noise or heat. ``leaves_room_w`` is power that heats elsewhere."""

    name: str
    power_w: float
    sound: Sound
    circuit: str
    leaves_room_w: float = 0.0
    rack_u: int = 0
    on_ups: bool = False
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Surface:
    """A surface of the source room with its absorption coefficients by octave band."""

    name: str
    area_m2: float
    absorption: Bands


@dataclass(frozen=True)
class Element:
    """A part of a partition with its transmission loss by octave band, dB."""

    name: str
    area_m2: float
    loss_db: Bands


@dataclass(frozen=True)
class Partition:
    """What stands between the room and a listener, and how the listener's room swallows sound.

    ``absorption_m2``: equivalent absorption area of the listener's room by octave band.
    """

    elements: tuple[Element, ...]
    absorption_m2: Bands


@dataclass(frozen=True)
class Listener:
    """A position where the level counts: inside (``distance_m``) or behind a ``partition``.

    ``target_dba`` limits the sound of the room's sources there; ``confidence`` is how sure it must be that
    it is met, over one half (None: the level foretold decides). ``reading_dba`` is today's level of the
    room's sources as read there, from which ``offset_db`` comes.
    """

    name: str
    target_dba: float | None
    distance_m: float = 1.0
    directivity_q: float = 2.0
    partition: Partition | None = None
    background_dba: float | None = None
    use: str | None = None
    offset_db: float = 0.0
    assumed: frozenset[str] = frozenset()
    confidence: float | None = None
    reading_dba: float | None = None


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


@dataclass(frozen=True)
class Circuit:
    """A branch circuit: breaker and voltage; ``continuous_w`` is what it may carry for hours."""

    name: str
    volts: float
    breaker_a: float
    continuous_w: float

    @property
    def breaker_w(self) -> float:
        """What the breaker bears for a moment, such as while a machine starts, W."""
        return self.volts * self.breaker_a


@dataclass(frozen=True)
class Supply:
    """Electricity: circuits, what a kWh costs, and the UPS efficiency for what hangs on it (1: no UPS).

    ``ups_wh`` is the energy its batteries give, where it is known.
    """

    circuits: tuple[Circuit, ...]
    price_kwh: float
    ups_efficiency: float = 1.0
    co2_kg_per_kwh: float | None = None
    ups_wh: float | None = None


@dataclass(frozen=True)
class Policy:
    """The person's limits and wishes; ``headroom``: share per resource kept free on what a plan builds."""

    aims: tuple[Aim, ...] = (Aim.SOUND, Aim.POWER, Aim.COST, Aim.CHANGE)
    headroom: Mapping[str, float] = field(default_factory=dict)
    vcpu_per_core: float = 4.0
    host_memory_gib: float = 4.0
    guest_memory_gib: float = 0.25
    host_cpu_share: float = 0.1
    budget: float | None = None
    monthly_budget: float | None = None
    labour_per_hour: float = 0.0
    inlet_limit_c: float = 27.0
    spare_hosts: int = 0
    alarm_c: float = 35.0
    equipment_class: str = "A2"


@dataclass(frozen=True)
class Recurring:
    """A maintenance window that comes every week: ``weekday`` 0 is Monday, ``start`` is local time."""

    weekday: int
    start: time
    hours: float


@dataclass(frozen=True)
class Windows:
    """When work may be done. No ``recurring``: the trade's habit; ``blackouts``: days without any window.

    ``start_date`` is the first day on which work may be done, ``crew`` how many people work at once.
    """

    timezone: str = "UTC"
    recurring: tuple[Recurring, ...] = ()
    blackouts: tuple[date, ...] = ()
    start_date: date | None = None
    crew: int = 1


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
    windows: Windows = Windows()

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
