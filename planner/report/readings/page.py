"""Readings after waves set against what was foretold, as data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC
from typing import TYPE_CHECKING

from planner.report.common.figures import finite

if TYPE_CHECKING:
    from planner.moves.tracking.comparison import Against, Compared


@dataclass(frozen=True)
class AgainstEntry:
    """One thing read: at a listener in dBA, the draw in W, or the room's °C, against what was foretold.

    ``low`` to ``high`` is the band of the foretold figure; ``words`` say what the difference means.
    """

    what: str
    unit: str
    foretold: float | None
    low: float | None
    high: float | None
    read: float
    difference: float | None
    within: bool
    words: tuple[str, ...]


@dataclass(frozen=True)
class ReadingEntry:
    """What was read after a wave (0: before the first), the season it is taken for, and a person's note."""

    wave: int
    at: str
    season: str
    season_said: bool
    note: str
    figures: tuple[AgainstEntry, ...]


def reading_entry(item: Compared) -> ReadingEntry:
    """Turn a reading into data."""
    reading = item.reading
    figures = tuple(_against(figure) for figure in item.figures)
    at, is_said = reading.at.astimezone(UTC).isoformat(), bool(reading.season)
    return ReadingEntry(item.wave, at, item.season, is_said, reading.note, figures)


def _against(item: Against) -> AgainstEntry:
    return AgainstEntry(
        what=item.what,
        unit=item.unit,
        foretold=finite(item.foretold, 1),
        low=finite(item.low, 1),
        high=finite(item.high, 1),
        read=item.read,
        difference=finite(item.difference, 1),
        within=item.is_within,
        words=item.words,
    )
