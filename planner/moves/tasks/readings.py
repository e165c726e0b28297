"""What was read in the room after a wave, and which wave that was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from planner.domain.air import Season
from planner.domain.site import Site


@dataclass(frozen=True)
class Reading:
    """Levels by listener, draw, temperature after a wave; ``tasks`` are that wave's, none before the first.

    ``season`` is '' where nobody said it. ``around_c`` is the temperature around the room then,
    ``background_dba`` what is heard with the room's sources off.
    """

    wave: int
    tasks: tuple[str, ...]
    at: datetime
    levels_dba: tuple[tuple[str, float], ...] = ()
    watts: float | None = None
    celsius: float | None = None
    season: str = ""
    around_c: float | None = None
    background_dba: float | None = None
    note: str = ""


def latest(readings: Sequence[Reading], standing: Sequence[tuple[str, ...]]) -> dict[int, Reading]:
    """Look up what was read after each wave that stands, by number; 0: before the first.

    ``standing`` are the tasks of the waves that stand, in their order. What was read after a wave that has
    been taken back since counts no more; of a figure read twice the last counts.
    """
    numbers = {tasks: number for number, tasks in enumerate(standing, start=1)}
    numbers[()] = 0
    found: dict[int, Reading] = {}
    for item in readings:
        if item.tasks in numbers:
            number = numbers[item.tasks]
            found[number] = _over(found[number], item) if number in found else item
    return dict(sorted(found.items()))


def _over(earlier: Reading, later: Reading) -> Reading:
    """Build a reading with what an earlier one had besides, if both were made under the same conditions."""
    conditions = [(item.season, item.around_c, item.background_dba) for item in (earlier, later)]
    if conditions[0] != conditions[1]:
        return later
    return replace(
        later,
        levels_dba=tuple({**dict(earlier.levels_dba), **dict(later.levels_dba)}.items()),
        watts=earlier.watts if later.watts is None else later.watts,
        celsius=earlier.celsius if later.celsius is None else later.celsius,
        note=later.note or earlier.note,
    )


def season_of(site: Site, reading: Reading) -> Season:
    """Look up the season of a reading: the one said, else the quiet one that is around the warmest."""
    named = [season for season in site.seasons if season.name == reading.season]
    quiet = [season for season in site.seasons if season.quiet] or [*site.seasons]
    return named[0] if named else max(quiet, key=lambda season: season.surroundings_c)
