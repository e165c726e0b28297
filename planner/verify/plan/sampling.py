"""The judge's own samples: the level at a listener that is kept as surely as was asked."""

from __future__ import annotations

import math

import numpy as np

from planner.domain.sound import Listener
from planner.ledger import SeasonLedger
from planner.ledger.certainty import parts_at, room_sigma_db
from planner.verify.trial import Trial

SAMPLES = 20_000
SEED = 20_240_501


def held_dba(trial: Trial, listener: Listener) -> float:
    """Compute the level that the share of samples asked for does not pass, in the worst quiet season."""
    pairs = list(zip(trial.book.seasons, trial.site.seasons, strict=True))
    quiet = [entry for entry, season in pairs if season.quiet] or [entry for entry, _ in pairs]
    return max(_kept_dba(trial, entry, listener) for entry in quiet)


def _kept_dba(trial: Trial, entry: SeasonLedger, listener: Listener) -> float:
    parts = [part for part in parts_at(trial.site, trial.state, entry, listener) if part.energy > 0.0]
    if not parts:
        return -math.inf
    rng = np.random.default_rng(SEED)
    heard = np.zeros(SAMPLES)
    for part in parts:
        heard += part.energy * 10.0 ** (rng.normal(0.0, part.sigma_db, SAMPLES) / 10.0)
    levels_dba = np.sort(10.0 * np.log10(heard) + rng.normal(0.0, room_sigma_db(listener), SAMPLES))
    place = math.ceil((listener.confidence or 0.5) * SAMPLES) - 1
    return float(levels_dba[place])
