"""What stands in the way of a plan or an order, as data: which rule, about whom, where, by how much.

The report makes the sentences, the screen opens forms: both by ``rule`` and names, never by words.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from planner.domain.machines import Role


class Rule(StrEnum):
    """What a conflict breaks: a rule or a limit of the person's, or what a machine has."""

    CAPACITY = "capacity"
    BUDGET = "budget"
    MONTHLY_BUDGET = "monthly_budget"
    RACK = "rack"
    CIRCUIT = "circuit"
    START = "start"
    HEAT = "heat"
    RESIDENTS = "residents"
    ALONE = "alone"
    PHYSICAL = "physical"
    STAY_ON = "stay_on"
    NEEDS = "needs"
    ZONES = "zones"
    APART = "apart"
    QUORUM = "quorum"
    UNITS = "units"
    EXCLUDES = "excludes"
    MEASURES = "measures"
    MACHINE = "machine"
    OTHER_HOST = "other_host"
    RESTART = "restart"
    SPARE_HOSTS = "spare_hosts"
    WINDOW = "window"
    WINDOWS = "windows"


class Shown(StrEnum):
    """Where a conflict shows: it decides what its figures are of, not what may give way."""

    ON_MACHINE = "on a machine by itself"
    NOWHERE = "on the nearest of all machines"
    IN_ALL = "in all that there is"
    REPAIR = "in the cheapest repair"
    AFTER_LOSS = "after a loss of hosts"
    ON_THE_WAY = "on the way to the plan"


@dataclass(frozen=True)
class Place:
    """A machine, circuit, season or target: its name, and the entry of the file that it stands in.

    ``is_any``: any of several alike, of which the entry is one or the kind.
    """

    name: str
    entry: str
    is_any: bool = False


@dataclass(frozen=True)
class Conflict:
    """A rule that does not hold, and by how much.

    ``subject``: the services it is about, of a sum over all the one that takes most; of ``excludes``:
    measures and cooling options; of room after a loss: the zone, if one.
    ``others``: further names of the rule: hardware that is missing, the box one stays on, zones, the services
    of a quorum. ``amount``: what is lacking, in ``unit``, beyond what is ``there``; 0 for a rule without
    figures. ``role``: in which the machine would carry them. ``because``: the person's reason.
    ``fits_nowhere``: a service that no machine takes, this being the reason of one machine. ``lost``: hosts
    whose loss shows it, and ``more_lost`` how many others are lost with them. On the way to a plan the
    subject of a start is the machine, of a window and of money tasks by id; ``wave`` is the first in which
    it shows, of ``windows`` how many there are, ``work_h`` the hours of all the tasks.
    """

    rule: Rule
    subject: tuple[str, ...] = ()
    place: Place | None = None
    resource: str = ""
    hour: int | None = None
    amount: float = 0.0
    unit: str = ""
    there: float | None = None
    shown: Shown = Shown.ON_MACHINE
    others: tuple[str, ...] = ()
    role: Role | None = None
    because: str = ""
    fits_nowhere: str = ""
    lost: tuple[Place, ...] = ()
    more_lost: int = 0
    wave: int | None = None
    work_h: float = 0.0

    @property
    def needed(self) -> float:
        """What would have to be there, in its unit."""
        return self.amount + (self.there or 0.0)

    @property
    def is_final(self) -> bool:
        """Whether it rules out every plan by itself, whatever the other limits say."""
        return self.shown in (Shown.NOWHERE, Shown.IN_ALL) or bool(self.fits_nowhere)
