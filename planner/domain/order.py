"""An order of moves as it is written down: what is done in which wave, when, and how the room is then."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from planner.ledger import Ledger


class Sort(StrEnum):
    """What a task is, in the order in which tasks of one wave are done where nothing else decides."""

    BRING_IN = "bring in"
    COOLING_ON = "cooling on"
    PREPARE = "prepare"
    REUSE = "re-use"
    REPLUG = "plug over"
    BACK_UP = "back up"
    MOVE = "move"
    HOLD = "hold"
    MEASURE = "measure"
    COOLING_OFF = "cooling off"
    RETIRE = "retire"


@dataclass(frozen=True)
class Task:
    """One step: ``hours`` of attended work, ``way_back_h`` to undo it, ``down_h`` a service is down.

    ``price`` is the money that it spends.
    ``subject`` is the service, machine, measure or cooling option; ``origin`` and ``goal`` are the machines
    of a move, ``method`` is how it is done. ``go_no_go`` must hold before the wave begins, ``done_when`` once
    the step is done. ``cautions`` are ids of hazards or an inventory's own sentences.
    """

    id: str
    sort: Sort
    subject: str
    hours: float
    text: str
    go_no_go: tuple[str, ...] = ()
    done_when: tuple[str, ...] = ()
    rollback: str = ""
    cautions: tuple[str, ...] = ()
    way_back_h: float = 0.0
    down_h: float = 0.0
    origin: str = ""
    goal: str = ""
    method: str = ""
    price: float = 0.0


def task_id(sort: Sort, subject: str) -> str:
    """Build the id of a task: its sort and its subject."""
    return f"{sort.value}: {subject}"


def task_named(id_: str) -> tuple[Sort, str]:
    """Look up the sort and the subject of a task's id; ValueError for what is none."""
    sort, _, subject = id_.partition(": ")
    if not subject or sort not in tuple(Sort):
        raise ValueError(f"{id_!r} is no task; one is written such as 'move: mail'")
    return Sort(sort), subject


@dataclass(frozen=True)
class Cycle:
    """Services that depend on each other, those of them that move, and (consumer, provider) out of order."""

    services: tuple[str, ...]
    moving: tuple[str, ...] = ()
    broken: tuple[tuple[str, str], ...] = ()

    @property
    def text(self) -> str:
        """The cycle in words."""
        ring = ", ".join(self.services)
        if len(self.moving) < 2:
            return f"{ring} depend on each other; only {self.moving[0] if self.moving else 'none'} moves."
        if not self.broken:
            ring = ", ".join(self.moving)
            return f"{ring} depend on each other: they move together in one wave."
        pairs = " and ".join(f"{consumer} before {provider}" for consumer, provider in self.broken)
        return (
            f"{ring} depend on each other but must not move in one wave: {pairs}, "
            "so point the consumer at its provider's new place after that one has moved."
        )


@dataclass(frozen=True)
class Figures:
    """What a room is said to be like once a wave is done: levels by listener, draw, warmth, rack units."""

    levels_dba: Mapping[str, float]
    power_w: float
    warmest_c: float
    rack_u: int


def figures_of(book: Ledger, rack_u: int) -> Figures:
    """Compute the figures of a state by its ledger; ``rack_u`` counts boxes kept switched off too."""
    warmest = max((season.temperature_c for season in book.seasons), default=0.0)
    return Figures(dict(book.levels_dba), book.mean_power_w, warmest, rack_u)


@dataclass(frozen=True)
class WrittenWave:
    """A wave on paper: its tasks in the order in which they are done, its dates, and the room afterwards.

    ``is_past`` says that it stands already: its window is no longer asked after.
    """

    number: int
    tasks: tuple[Task, ...]
    start: datetime | None = None
    end: datetime | None = None
    figures: Figures | None = None
    is_past: bool = False

    @property
    def moves(self) -> tuple[str, ...]:
        """The services it moves."""
        return tuple(task.subject for task in self.tasks if task.sort is Sort.MOVE)


@dataclass(frozen=True)
class WrittenOrder:
    """An order on paper, from the very first wave on; what the judge walks.

    ``given_up`` are (consumer, provider) whose order is not kept because both would wait for each other.
    """

    waves: tuple[WrittenWave, ...]
    cycles: tuple[Cycle, ...] = ()
    given_up: tuple[tuple[str, str], ...] = ()
