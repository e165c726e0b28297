"""The sound rows: at each listener the energies of all that is on stay under the level asked for.

A source's energy is linear in its mode and its load. Rows hold for the room variant and the inlet band that
are chosen; the others are slack by the factor by which any source can be louder there, never by more.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import pulp

from planner.domain.air import Season
from planner.domain.sound import Bands, Listener, Sound
from planner.ledger.effects import quieted
from planner.ledger.hearing import heard_energy, inlet_factor, transfer_db
from planner.physics import sound
from planner.placement.formulation.assignment import Model
from planner.tolerances import LEVEL_DB, SOLVER_SHARE


@dataclass(frozen=True)
class Voice:
    """A variable that brings ``idle`` times a sound's idle energy plus ``loaded`` times its loaded energy."""

    variable: pulp.LpVariable
    sound: Sound
    idle: float
    loaded: float
    season: str | None = None


Pair = tuple[int, int]
"""A room variant and an inlet band, by number."""

Energies = list[tuple[float, float]]
"""By voice, what is heard of its sound idle and loaded."""


class Hearing:
    """The sound rows of a model for any level asked for."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.voices = [*_machine_voices(model), *_gear_voices(model), *_cooling_voices(model)]
        site = model.problem.site
        targeted = [item for item in site.listeners if item.target_dba is not None]
        self.listeners = targeted or list(site.listeners)
        self._energies = cache(heard_energy)
        self._tables = cache(self._season_table)

    def rows(self, over_db: float) -> Mapping[str, pulp.LpConstraint]:
        """Build rows that keep every listener at most ``over_db`` above its target (0 dBA if none has)."""
        found: dict[str, pulp.LpConstraint] = {}
        for listener in self.listeners:
            asked = sound.energy((listener.target_dba or 0.0) + over_db + LEVEL_DB)
            for season in self.model.problem.site.seasons:
                if season.quiet:
                    found.update(self._season_rows(listener, season, asked))
        return found

    def _season_rows(self, listener: Listener, season: Season, asked: float) -> dict[str, pulp.LpConstraint]:
        voices = [voice for voice in self.voices if voice.season in (None, season.name)]
        table, slacks = self._tables(listener.name, season.name)
        found = {}
        for pair, slack in slacks.items():
            terms = [
                (voice.variable, (voice.idle * idle + voice.loaded * loaded) / asked)
                for voice, (idle, loaded) in zip(voices, table[pair], strict=True)
            ]
            holds = self.model.room[season.name, pair[0], pair[1]]
            row = self.model.program.total([*terms, (holds, slack)]) <= 1.0 - SOLVER_SHARE + slack
            number = self.listeners.index(listener)
            found[f"sound:{number}:{listener.name}@{season.name}/{pair[0]}/{pair[1]}"] = row
        return found

    def _season_table(self, listener: str, season: str) -> tuple[dict[Pair, Energies], dict[Pair, float]]:
        """Compute, by variant and band, the energies of all voices, and each row's slack when off."""
        problem = self.model.problem
        place = next(item for item in self.listeners if item.name == listener)
        when = next(item for item in problem.site.seasons if item.name == season)
        voices = [voice for voice in self.voices if voice.season in (None, season)]
        transfers = [transfer_db(problem.site, place, names) for names in problem.variants]
        pairs = [(v, b) for v in range(len(problem.variants)) for b in range(len(problem.bands_c(when)))]
        table = {pair: self._pair_energies(voices, transfers, when, pair) for pair in pairs}
        slacks = {
            pair: max(self._louder(table[pair], table[other]) for other in pairs) - 1.0 for pair in pairs
        }
        return table, slacks

    def _pair_energies(
        self, voices: list[Voice], transfers: list[Bands], season: Season, pair: tuple[int, int]
    ) -> list[tuple[float, float]]:
        inlet_c = self.model.problem.bands_c(season)[pair[1]]
        path = transfers[pair[0]]
        energies = []
        for voice in voices:
            factor = inlet_factor(voice.sound, inlet_c)
            idle = self._energies(voice.sound.idle_db, path) * factor
            energies.append((idle, self._energies(voice.sound.loaded_db, path) * factor))
        return energies

    @staticmethod
    def _louder(here: list[tuple[float, float]], there: list[tuple[float, float]]) -> float:
        """Compute the largest factor by which a source is louder here than there."""
        ratios = [
            a / b for left, right in zip(here, there, strict=True) for a, b in zip(left, right, strict=True)
        ]
        return max(1.0, *ratios) if ratios else 1.0


def _machine_voices(model: Model) -> list[Voice]:
    site = model.problem.site
    voices = []
    for slot in model.problem.slots:
        for mode, variable in model.slot_modes(slot):
            source = quieted(site, slot.name, slot.spec.sound, mode.measures)
            if source is not None:
                voices.append(Voice(variable, source, 1.0, 0.0))
                voices.append(Voice(model.mode_load[slot.key, mode.index], source, -1.0, 1.0))
    return voices


def _gear_voices(model: Model) -> list[Voice]:
    voices = []
    for gear in model.problem.site.gear:
        for mode, variable in model.source_modes(gear.name, gear.name):
            source = quieted(model.problem.site, gear.name, gear.sound, mode.measures)
            if source is not None:
                voices.append(Voice(variable, source, 1.0, 0.0))
    return voices


def _cooling_voices(model: Model) -> list[Voice]:
    voices = []
    for option in model.problem.site.cooling:
        for mode in model.problem.modes(option.name):
            source = quieted(model.problem.site, option.name, option.sound, mode.measures)
            for season in model.problem.site.seasons:
                key = (option.name, season.name, mode.index)
                if source is not None and key in model.run_mode:
                    voices.append(Voice(model.run_mode[key], source, 0.0, 1.0, season.name))
    return voices
