"""What may be read in a state: levels, draw and warmth in a season, each with the band it may lie in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from planner.domain.air import Season
from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State
from planner.ledger import climate, draw, ledger
from planner.ledger.certainty import BAND, kept_dba, parts_at, room_sigma_db, sampled_dba
from planner.ledger.sums import SeasonLedger
from planner.physics import sound

WATTS_SHARE = 0.1
"""How far a draw at one moment may lie from the mean, as a share (assumed)."""

CELSIUS_K = 2.0
"""How far a steady room may be from the temperature foretold, K (assumed)."""


@dataclass(frozen=True)
class Scene:
    """A state in a season as it was when it was read."""

    site: Site
    state: State
    season: Season
    background_dba: float | None

    @cached_property
    def book(self) -> SeasonLedger:
        """The season's ledger."""
        return ledger(self.site, self.state).season(self.season.name)


@dataclass(frozen=True)
class Expected:
    """What is foretold of one thing in a season, with its band."""

    what: str
    unit: str
    season: str
    foretold: float
    low: float
    high: float


def expected(site: Site, state: State) -> Iterator[Expected]:
    """Compute what may be read in a state: levels at the listeners, the draw and the room, in each season."""
    scenes = [Scene(site, state, season, None) for season in site.seasons]
    for listener in site.listeners:
        noise = -math.inf if listener.background_dba is None else listener.background_dba
        for scene in scenes:
            band = band_dba(site, state, scene.book, listener)
            levels = (
                sound.add_levels(level, noise) for level in (scene.book.levels_dba[listener.name], *band)
            )
            yield Expected(listener.name, "dBA", scene.season.name, *levels)
    for scene in scenes:
        yield Expected("draw", "W", scene.season.name, *draw_w(scene))
    for scene in scenes:
        warm = scene.book.temperature_c
        yield Expected("room", "°C", scene.season.name, warm, warm - CELSIUS_K, warm + CELSIUS_K)


def band_dba(site: Site, state: State, book: SeasonLedger, listener: Listener) -> tuple[float, float]:
    """Compute the levels between which 90 % of cases lie in a season, dBA."""
    levels = sampled_dba(parts_at(site, state, book, listener), room_sigma_db(listener))
    return kept_dba(levels, (1.0 - BAND) / 2.0), kept_dba(levels, (1.0 + BAND) / 2.0)


def draw_w(scene: Scene) -> tuple[float, float, float]:
    """Compute the draw foretold and its band, W: cooling that switches itself off may be at rest."""
    at_rest_w = math.fsum(
        draw.cooling_w(scene.site, option, scene.state.measures)
        for option in climate.running(scene.site, scene.season, scene.state)
        if option.duty < 1.0
    )
    foretold = scene.book.power_w
    return foretold, (foretold - at_rest_w) * (1.0 - WATTS_SHARE), foretold * (1.0 + WATTS_SHARE)
