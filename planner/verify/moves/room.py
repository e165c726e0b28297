"""The judge's simulated room while it walks an order, and the rules that a walk can find broken."""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass, field, replace
from datetime import UTC, timedelta
from enum import StrEnum
from functools import cached_property

from planner.domain.order import WrittenOrder, WrittenWave
from planner.domain.practice import HOLD_DAYS
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.verify.trial import Breach, Room


class Walked(StrEnum):
    """What an order can do wrong besides bringing the room into a state that breaks a rule."""

    KNOWN = "task known"
    ONCE = "task once"
    TIME = "time"
    WINDOW = "window"
    WORK = "work"
    MONEY = "money by month"
    DIRECTORY = "directory"
    BACKUP_COMPANY = "backup server"
    PAIR = "pair"
    ROOT = "root"
    PROVIDER = "provider"
    RING = "ring"
    PREPARE = "prepare"
    SOAK = "soak"
    BACK_UP = "back up"
    MOVE = "move"
    GOAL = "goal"
    METHOD = "method"
    DOWNTIME = "downtime"
    REBUILD = "rebuild"
    REPLUG = "plug over"
    HOLD = "hold"
    RETIRE = "retire"
    WAY_BACK = "way back"
    RACK = "rack with held boxes"
    START = "start-up"
    FIGURES = "figures"
    LEFT = "left over"
    TARGET = "target"


@dataclass(frozen=True)
class Seen:
    """What was found of a state: rules it breaks, its rack units, and starts too great for a circuit, W."""

    breaches: tuple[Breach, ...]
    rack_u: int
    starts_w: tuple[tuple[str, float], ...]


@dataclass
class SimulatedRoom:
    """The room as it is at one moment, by machine name, and what is remembered of the way there.

    ``judged`` keeps what was found of states, for a search comes by the same one many times.
    """

    site: Site
    target: State
    order: WrittenOrder
    on: dict[str, Machine]
    cooling: dict[str, frozenset[str]]
    measures: frozenset[str] = frozenset()
    held: dict[str, WrittenWave] = field(default_factory=dict)
    came: dict[str, WrittenWave] = field(default_factory=dict)
    moved: dict[str, WrittenWave] = field(default_factory=dict)
    backed_up: dict[str, WrittenWave] = field(default_factory=dict)
    judged: dict[object, Seen] = field(default_factory=dict)

    def copy(self) -> SimulatedRoom:
        """Copy what changes on the way; what was computed once is shared."""
        other = copy(self)
        other.on, other.cooling = dict(self.on), dict(self.cooling)
        other.held, other.came = dict(self.held), dict(self.came)
        other.moved, other.backed_up = dict(self.moved), dict(self.backed_up)
        return other

    @property
    def state(self) -> State:
        """The state of the moment."""
        return State(tuple(self.on.values()), self.measures, self.cooling)

    @cached_property
    def then(self) -> Room:
        """The room before anything is done."""
        return Room(self.site, state_today(self.site))

    @cached_property
    def goal_room(self) -> Room:
        """The room once all is done."""
        return Room(self.site, self.target)

    @property
    def held_u(self) -> int:
        """Rack units of boxes that are kept switched off."""
        return sum(self.site.box[box].spec.rack_u for box in self.held)

    def goal(self, name: str) -> Machine:
        """Make a machine of the target by name; KeyError for none."""
        found = {machine.name: machine for machine in self.target.machines}
        return found[name]

    def goal_of(self, service: str) -> Machine:
        """Look up the machine that carries a service in the target."""
        return self.target.where(service)[0]

    def let_go(self, service: str) -> None:
        """Take a service off its old machine."""
        goal = self.goal_of(service).name
        for name, machine in self.on.items():
            if name != goal and service in machine.services:
                left = tuple(other for other in machine.services if other != service)
                self.on[name] = replace(machine, services=left)


def is_after(since: WrittenWave, wave: WrittenWave, hours: float) -> bool:
    """Say whether a wave comes so many hours after another one; without dates, after it at all."""
    if since.end is None or wave.start is None:
        return wave.number > since.number
    gone = wave.start.astimezone(UTC) - since.end.astimezone(UTC)
    return wave.number > since.number and gone >= timedelta(hours=hours)


def way_back(room: SimulatedRoom, box: str, wave: WrittenWave, deed: str) -> Iterator[Breach]:
    """Ask whether all that ran on a box today has been elsewhere for long enough to give up its way back."""
    last = room.held.get(box)
    if last is not None and not is_after(last, wave, HOLD_DAYS * 24.0):
        text = f"{box} is {deed} in wave {wave.number}, before its rollback deadline"
        yield Breach(Walked.WAY_BACK, box, text)
    for service in room.site.services:
        since = room.moved.get(service.name)
        if service.box != box or since is None or room.goal_of(service.name).box == box:
            continue
        if not is_after(since, wave, HOLD_DAYS * 24.0):
            text = f"{box} is {deed} in wave {wave.number}, but {service.name} may have to go back to it"
            yield Breach(Walked.WAY_BACK, box, text)
