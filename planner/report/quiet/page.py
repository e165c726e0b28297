"""The quieting page as plain data: the loudest-first ladder beside the proven cheapest set.

``assumed`` and ``*_assumed`` say that a level rests on something nobody measured or declared. A level of
None means that nothing sounds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planner.report.common.entries import AssumedEntry, CautionEntry
from planner.report.common.json_data import Document


@dataclass(frozen=True)
class RungLevel:
    """The level at a listener before and after a rung."""

    listener: str
    before_dba: float | None
    after_dba: float | None
    drop_db: float | None
    before_assumed: bool
    after_assumed: bool


@dataclass(frozen=True)
class RungEntry:
    """A rung: what is done, on which source, why there, and what it brings, costs and endangers.

    ``listener`` is where it was furthest over its target, ``leading`` and ``next_leading`` the loudest
    source there before and after. ``cost`` is money plus work at the site's rate. In the seasons
    ``stopped_in`` the cooling option ``on`` runs no more.
    """

    number: int
    on: str
    measures: tuple[str, ...]
    cooling_started: tuple[str, ...]
    cooling_stopped: tuple[str, ...]
    stopped_in: tuple[str, ...]
    listener: str
    leading: str
    next_leading: str
    levels: tuple[RungLevel, ...]
    price: float
    hours: float
    cost: float
    warmest_c: float
    effect_assumed: bool
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class SetLevel:
    """The level that a set or the ladder leads to at a listener."""

    listener: str
    target_dba: float | None
    level_dba: float | None
    met: bool | None
    assumed: bool


@dataclass(frozen=True)
class SetEntry:
    """A set of measures and cooling: what it costs, what it leads to, how much stays over the targets."""

    measures: tuple[str, ...]
    cooling: tuple[tuple[str, tuple[str, ...]], ...]
    price: float
    hours: float
    cost: float
    over_db: float
    levels: tuple[SetLevel, ...]
    warmest_c: float
    proven: bool


@dataclass(frozen=True)
class QuietPage:
    """Everything a person is told about quieting a placement.

    ``ladder`` is where the rungs end, ``best`` the cheapest set that meets the targets or comes nearest,
    ``equal`` the cheapest set as quiet as the ladder's end; None: not found in the time given.
    """

    site: str
    currency: str
    start: str
    budget_left: float | None
    levels_at_start: tuple[SetLevel, ...]
    rungs: tuple[RungEntry, ...]
    stopped_by: str
    ladder: SetEntry
    best: SetEntry | None
    equal: SetEntry | None
    ladder_costs_more: float | None
    cautions: tuple[CautionEntry, ...]
    assumed: tuple[AssumedEntry, ...]
    note: str


@dataclass(frozen=True, kw_only=True)
class QuietDocument(Document):
    """What 'stillroom quiet --json' writes: the loudest-first ladder and the proven cheapest set."""

    format: Literal["stillroom.quiet"] = "stillroom.quiet"
    version: Literal[1] = 1
    page: QuietPage
