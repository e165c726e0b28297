"""How sure a level is: from the ± of each source and of the room to a band and a probability.

Each source may be off by its own error, units of one kind by the same one (one declaration), and the room
by one error at each listener. Errors are normal in decibels. Levels are sampled with a fixed seed: the same
site gives the same figures.

Why so: every figure of sound has a ±, read as two standard deviations (a class range as equally likely
throughout); the room adds ±5 dB, or ±2 dB where today's level was read. The judge samples on its own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.domain.site import Site
from planner.domain.sound import Listener, Sound
from planner.domain.state import State
from planner.ledger.effects import quieted
from planner.ledger.sums import Ledger, SeasonLedger, sounding
from planner.physics import sound
from planner.physics.room import PREDICTION_PM_DB

CALIBRATED_PM_DB = 2.0
"""What is left of the room's ± where today's level was read: only the difference is foretold (assumed)."""

COVERAGE = 2.0
"""A ± is read as two standard deviations (GUM, about 95 %); a class range as equally likely throughout."""

BAND = 0.9
"""Share of cases that a shown band holds."""

SAMPLES = 20_000
SEED = 71

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Certainty:
    """How sure the level at a listener is: band, probability that its target is met, level that is held.

    ``low_dba`` to ``high_dba`` holds 90 % of cases. ``probability`` is None where there is no target.
    ``held_dba`` is the level not passed with the confidence asked for, or the foretold level.
    """

    low_dba: float
    high_dba: float
    probability: float | None
    held_dba: float


@dataclass(frozen=True)
class Part:
    """Sources that err together: their energy at a listener, and the standard deviation of their level."""

    energy: float
    sigma_db: float


def sigma_of(source: Sound) -> float:
    """Look up the standard deviation of a source's level, dB."""
    return source.plus_minus_db / (math.sqrt(3.0) if source.origin == "assumed" else COVERAGE)


def room_sigma_db(listener: Listener) -> float:
    """Compute the standard deviation of what the room does on the way to a listener, dB."""
    known = listener.reading_dba is not None
    return (CALIBRATED_PM_DB if known else PREDICTION_PM_DB) / COVERAGE


def parts_at(site: Site, state: State, entry: SeasonLedger, listener: Listener) -> tuple[Part, ...]:
    """Compute what is heard in a season by sources that err together; of several sigmas the largest."""
    season = next(item for item in site.seasons if item.name == entry.season)
    kinds = {machine.name: machine.kind for machine in state.machines if machine.kind is not None}
    heard = {source.name: source.levels_dba[listener.name] for source in entry.sources}
    found: dict[str, Part] = {}
    for name, _, base, _ in sounding(site, state, season):
        source = quieted(site, name, base, state.measures)
        if source is not None:
            key = kinds.get(name, name)
            known = found.get(key, Part(0.0, 0.0))
            energy = known.energy + sound.energy(heard[name])
            found[key] = Part(energy, max(known.sigma_db, sigma_of(source)))
    return tuple(found.values())


def sampled_dba(parts: Sequence[Part], room_db: float, seed: int = SEED) -> Floats:
    """Sample levels from what each part and the room may be off by, dBA; minus infinity: silence."""
    audible = [part for part in parts if part.energy > 0.0]
    if not audible:
        return np.full(SAMPLES, -math.inf)
    rng = np.random.default_rng(seed)
    errors_db = rng.standard_normal((SAMPLES, len(audible))) * [part.sigma_db for part in audible]
    energies = 10.0 ** (errors_db / 10.0) @ np.array([part.energy for part in audible])
    levels: Floats = 10.0 * np.log10(energies) + rng.standard_normal(SAMPLES) * room_db
    return levels


def certainty(site: Site, state: State, book: Ledger, listener: Listener) -> Certainty:
    """Compute how sure a listener's level is, in the quiet season in which it is least sure to be low."""
    pairs = list(zip(book.seasons, site.seasons, strict=True))
    quiet = [entry for entry, season in pairs if season.quiet] or [entry for entry, _ in pairs]
    room_db = room_sigma_db(listener)
    found = [sampled_dba(parts_at(site, state, entry, listener), room_db) for entry in quiet]
    target, asked = listener.target_dba, listener.confidence
    return Certainty(
        low_dba=max(kept_dba(levels, (1.0 - BAND) / 2.0) for levels in found),
        high_dba=max(kept_dba(levels, (1.0 + BAND) / 2.0) for levels in found),
        probability=None if target is None else min(float((levels <= target).mean()) for levels in found),
        held_dba=book.levels_dba[listener.name]
        if asked is None
        else max(kept_dba(levels, asked) for levels in found),
    )


def kept_dba(levels_dba: Floats, share: float) -> float:
    """Compute the level that a share of samples does not pass."""
    return float(np.quantile(levels_dba, share, method="inverted_cdf"))


def held_levels_dba(site: Site, state: State, book: Ledger) -> Mapping[str, float]:
    """Compute by listener the level to hold against its target; with a confidence, that so surely kept."""
    return {
        item.name: book.levels_dba[item.name]
        if item.confidence is None
        else certainty(site, state, book, item).held_dba
        for item in site.listeners
    }
