"""The trade-off page as plain data: the points of the front, which one is recommended, and why.

A level of None means that nothing sounds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planner.report.common.json_data import Document


@dataclass(frozen=True)
class PointLevel:
    """The level at a listener in its loudest quiet season."""

    listener: str
    level_dba: float | None
    target_dba: float | None
    assumed: bool


@dataclass(frozen=True)
class PointEntry:
    """A point of the front: sound, watts, money, and what is bought and done for it.

    ``sound_db`` is on the page's scale, in steps of 0.5. ``cost`` is money and work, ``outlay`` money alone.
    ``proven``: no plan is as good in all three and better in one; else the gaps say how far off it may be.
    ``confirmed``: more than one run of a solver shows that.
    """

    number: int
    sound_db: float
    power_w: float
    cost: float
    outlay: float
    hours: float
    levels: tuple[PointLevel, ...]
    bought: tuple[str, ...]
    measures: tuple[str, ...]
    cooling: tuple[str, ...]
    boxes_on: tuple[str, ...]
    recommended: bool
    proven: bool
    confirmed: bool
    sound_gap_db: float | None
    power_gap_w: float | None
    cost_gap: float | None


@dataclass(frozen=True)
class TradeoffPage:
    """Everything a person is told about what less of one thing costs in the others.

    ``scale`` says what ``sound_db`` measures, ``zones`` how many gaps between the points are still unknown.
    """

    site: str
    currency: str
    scale: str
    unit: str
    outcome: str
    stopped_by: str
    confirmed: bool
    contradictions: tuple[str, ...]
    zones: int
    reasons: tuple[str, ...]
    points: tuple[PointEntry, ...]
    because: str
    note: str


@dataclass(frozen=True, kw_only=True)
class TradeoffDocument(Document):
    """What 'stillroom tradeoff --json' writes: the front of sound, power and money."""

    format: Literal["stillroom.tradeoff"] = "stillroom.tradeoff"
    version: Literal[1] = 1
    page: TradeoffPage
