"""Readings after a wave set against what was foretold, with what a difference means and what to look for."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State
from planner.ledger import climate, ledger
from planner.ledger.hearing import heard_energy, transfer_db
from planner.moves.tasks.readings import Reading, season_of
from planner.moves.tracking.diagnosis import Suspect, suspects
from planner.moves.tracking.forecast import CELSIUS_K, WATTS_SHARE, Scene, band_dba, draw_w
from planner.physics import sound

CLOSE = {"dBA": 1.0, "W": 30.0, "°C": 1.0}
"""How near a suspect must come to what was read to explain it (assumed)."""

MOST_SUSPECTS = 3
SHAPE = "medium-fan"
MOST_HEAT_W = 100_000.0


@dataclass(frozen=True)
class Against:
    """One thing read: what was foretold with its band, what was read, and what that means, in sentences."""

    what: str
    unit: str
    foretold: float
    low: float
    high: float
    read: float
    words: tuple[str, ...]

    @property
    def difference(self) -> float:
        """What was read less what was foretold."""
        return self.read - self.foretold

    @property
    def is_within(self) -> bool:
        """True when it was read within the band."""
        return self.low <= self.read <= self.high


@dataclass(frozen=True)
class Compared:
    """A reading after a wave (0: before the first), all its figures, and the season it is taken for."""

    wave: int
    reading: Reading
    season: str
    figures: tuple[Against, ...]


def all_compared(
    site: Site, states: Mapping[int, State], readings: Mapping[int, Reading], goal: State
) -> tuple[Compared, ...]:
    """Set readings against the states after their waves; each also against the reading before it.

    The last one says where levels end, in the state ``goal``, if what was read stays as far from foretold.
    """
    found: list[Compared] = []
    for wave, reading in readings.items():
        one = compared(site, states[wave], wave, reading)
        found.append(replace(one, figures=tuple(_since(item, one, found) for item in one.figures)))
    if found:
        ends = ledger(site, goal).season(found[-1].season).levels_dba
        listeners = {item.name: item for item in site.listeners}
        figures = tuple(_in_the_end(item, ends, listeners.get(item.what)) for item in found[-1].figures)
        found[-1] = replace(found[-1], figures=figures)
    return tuple(found)


def _in_the_end(item: Against, ends: Mapping[str, float], listener: Listener | None) -> Against:
    """Add the level in the end if the difference stays, where there is a target to hold it against."""
    if item.unit != "dBA" or listener is None or listener.target_dba is None:
        return item
    level = ends[item.what] + item.difference
    words = f"if it stays so far from foretold, {level:.0f} dBA in the end, target {listener.target_dba:.0f}"
    return replace(item, words=(*item.words, words))


def _since(item: Against, one: Compared, earlier: Sequence[Compared]) -> Against:
    """Add how much a figure has changed since it was last read, which is foretold better than the figure."""
    for before in reversed(earlier):
        for other in before.figures:
            if other.what == item.what and before.season == one.season:
                return replace(item, words=(*item.words, _change_words(item, other, before.wave)))
    return item


def _change_words(item: Against, before: Against, wave: int) -> str:
    digits = 0 if item.unit == "W" else 1
    when = f"after wave {wave}" if wave else "before the first wave"
    unit = {"dBA": "dB", "°C": "K"}.get(item.unit, item.unit)
    read, foretold = item.read - before.read, item.foretold - before.foretold
    return f"since the reading {when} {read:+.{digits}f} {unit}, foretold {foretold:+.{digits}f} {unit}"


def compared(site: Site, state: State, wave: int, reading: Reading) -> Compared:
    """Set a reading against the state after its wave."""
    season = season_of(site, reading)
    if reading.around_c is not None:
        season = replace(season, surroundings_c=reading.around_c)
        others = tuple(season if item.name == season.name else item for item in site.seasons)
        site = replace(site, seasons=others)
    scene = Scene(site, state, season, reading.background_dba)
    around = suspects(site, state, season.name)
    figures = [*_levels(scene, reading, around), *_watts(scene, reading, around)]
    return Compared(wave, reading, season.name, (*figures, *_celsius(scene, reading, around)))


def _levels(scene: Scene, reading: Reading, around: Sequence[Suspect]) -> Iterator[Against]:
    listeners = {item.name: item for item in scene.site.listeners}
    book = scene.book
    for name, read in reading.levels_dba:
        listener = listeners.get(name)
        if listener is None:
            continue
        known = listener.background_dba if scene.background_dba is None else scene.background_dba
        noise = -math.inf if known is None else known

        def heard(level_dba: float, noise: float = noise) -> float:
            return sound.add_levels(level_dba, noise)

        low, high = (heard(level) for level in band_dba(scene.site, scene.state, book, listener))
        bare = Against(name, "dBA", heard(book.levels_dba[name]), low, high, read, ())
        if bare.is_within:
            yield replace(bare, words=(f"within its band of {low:.0f} to {high:.0f} dBA (9 cases in 10)",))
            continue
        first = _louder(scene, listener, bare) if read > high else _quieter(bare)

        def level(item: Suspect, name: str = name, heard: Callable[[float], float] = heard) -> float:
            return heard(item.book.levels_dba[name])

        words = (first, _suspected(bare, around, level, QUIET_HINT))
        yield replace(bare, words=words if reading.wave else (*words, CALIBRATE))


CALIBRATE = "write it under 'readings' in the inventory and plan again, so that the plan starts from it"
QUIET_HINT = "switch one source off after the other and read again"
WATT_HINT = "read each circuit by itself"
WARM_HINT = "read again once the room has been left alone for a day"


def _louder(scene: Scene, listener: Listener, item: Against) -> str:
    """Say how loud one more source would have to be: what is left once the foretold is taken off."""
    alone = sound.level(sound.energy(item.read) - sound.energy(item.foretold))
    flat = sound.spectrum_for(60.0, SHAPE)
    path_db = sound.level(heard_energy(flat, transfer_db(scene.site, listener, scene.state.measures))) - 60.0
    return (
        f"{item.difference:.1f} dB louder than foretold, above its band of {item.low:.0f} to {item.high:.0f} "
        f"dBA: one more source would have to bring {alone:.1f} dBA there, a sound power of about "
        f"{alone - path_db:.0f} dBA in the room (fan spectrum assumed)"
    )


def _quieter(item: Against) -> str:
    return (
        f"{-item.difference:.1f} dB quieter than foretold, under its band of {item.low:.0f} to "
        f"{item.high:.0f} dBA: see that all runs that should, and that the meter read dBA, slow, for a minute"
    )


def _watts(scene: Scene, reading: Reading, around: Sequence[Suspect]) -> Iterator[Against]:
    if reading.watts is None:
        return
    bare = Against("draw", "W", *draw_w(scene), reading.watts, ())
    low, high = bare.low, bare.high
    band = f"{low:.0f} to {high:.0f} W, with cooling on or at rest and {100.0 * WATTS_SHARE:.0f} % (assumed)"
    if bare.is_within:
        yield replace(bare, words=(f"within {band}",))
        return
    more = "more" if bare.difference > 0.0 else "less"
    first = f"{abs(bare.difference):.0f} W {more} than foretold, outside {band}"
    yield replace(bare, words=(first, _suspected(bare, around, lambda item: item.book.power_w, WATT_HINT)))


def _celsius(scene: Scene, reading: Reading, around: Sequence[Suspect]) -> Iterator[Against]:
    if reading.celsius is None:
        return
    foretold, read, limit_c = scene.book.temperature_c, reading.celsius, scene.site.policy.inlet_limit_c
    bare = Against("room", "°C", foretold, foretold - CELSIUS_K, foretold + CELSIUS_K, read, ())
    over = (
        (f"over the limit of {limit_c:.0f} °C: see to the cooling before anything else",)
        if read > limit_c
        else ()
    )
    if bare.is_within:
        yield replace(bare, words=(*over, f"within {CELSIUS_K:.0f} K of what was foretold (assumed)"))
        return
    more = "warmer" if bare.difference > 0.0 else "cooler"
    first = (
        f"{abs(bare.difference):.1f} K {more} than foretold with {scene.season.surroundings_c:.0f} °C around "
        f"the room{_heat_words(scene, read)}"
    )
    why = _suspected(bare, around, lambda item: item.book.temperature_c, WARM_HINT)
    yield replace(bare, words=(*over, first, why))


def _heat_words(scene: Scene, read: float) -> str:
    """Say how much heat more or less in the room would explain a temperature; '' where none would."""

    def at(heat_w: float) -> float:
        return climate.temperature_c(scene.site, scene.season, scene.state, heat_w)

    low, high = 0.0, MOST_HEAT_W
    if not at(low) <= read <= at(high):
        return ""
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if at(middle) < read else (low, middle)
    more_w = high - scene.book.heat_w
    return f": {abs(more_w):.0f} W {'more' if more_w > 0.0 else 'less'} heat in it would explain that"


def _suspected(
    item: Against, around: Sequence[Suspect], figure: Callable[[Suspect], float], hint: str
) -> str:
    """Name what would by itself explain a difference, nearest first."""
    near = [(abs(figure(one) - item.read), one.words, figure(one)) for one in around]
    best = sorted(entry for entry in near if entry[0] <= min(CLOSE[item.unit], abs(item.difference) / 2.0))
    if not best:
        return f"nothing listed explains it by itself: {hint}"
    digits = 0 if item.unit == "W" else 1
    said = [f"{words} ({value:.{digits}f} {item.unit})" for _, words, value in best[:MOST_SUSPECTS]]
    return f"it would be so if {'; or if '.join(said)}"
