"""The best plan of a tiny site by looking at every state there is.

States are added up from the ledger's parts, each kept once; what is refused here is over a limit by more than
rounding, all else the judge decides. The winners are added up again by the whole ledger.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, combinations, product

from planner.domain.air import Cooling, Season
from planner.domain.plan import changes, cost, outlay
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.tolerances import LEVEL_DB
from planner.verify import verify_state
from tests.oracles.order import GIVE_BACK, values_of
from tests.oracles.parts import Parts
from tests.oracles.places import placements

LOOSE = 1e-5

Names = frozenset[str]


@dataclass(frozen=True)
class Candidate:
    """A state that breaks no limit by more than rounding, with the value of every aim."""

    state: State
    values: dict[Aim, float]


@dataclass(frozen=True)
class Best:
    """The best state and its values; ``looked_at``: how many states were within the limits."""

    state: State | None
    values: dict[Aim, float]
    looked_at: int


class Brute:
    """All states of a tiny site."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.parts = Parts(site)
        self._judged: dict[int, bool] = {}

    @cached_property
    def candidates(self) -> list[Candidate]:
        """Every state within the limits."""
        return [
            found
            for machines in placements(self.site)
            for measures in _subsets(m.name for m in self.site.measures if m.allowed)
            if self._measures_go(machines, measures)
            for found in self._cooled(machines, measures)
        ]

    def best(self, aims: Iterable[Aim]) -> Best:
        """Make the best state in an order of aims, each held while the next is improved."""
        left = list(range(len(self.candidates)))
        total = len(left)
        for aim in aims:
            left.sort(key=lambda index: self.candidates[index].values[aim])
            first = next((position for position, index in enumerate(left) if self.passes(index)), None)
            if first is None:
                return Best(None, {}, total)
            most = self.candidates[left[first]].values[aim] + GIVE_BACK[aim]
            left = [index for index in left[first:] if self.candidates[index].values[aim] <= most]
        state = next(self.candidates[index].state for index in left if self.passes(index))
        return Best(state, values_of(self.site, state), total)

    def passes(self, index: int) -> bool:
        """Say whether the judge accepts a candidate."""
        if index not in self._judged:
            self._judged[index] = not verify_state(self.site, self.candidates[index].state)
        return self._judged[index]

    def _measures_go(self, machines: Sequence[Machine], measures: Names) -> bool:
        """Say whether measures go together and have a target, leaving cooling aside."""
        there = {machine.box for machine in machines}
        options = set(self.site.cooling_option)
        for name in measures:
            measure = self.site.measure[name]
            if measure.target in self.site.box and measure.target not in there:
                return False
            if measure.excludes & measures or measure.requires - measures - options:
                return False
        return True

    def _cooled(self, machines: tuple[Machine, ...], measures: Names) -> Iterator[Candidate]:
        """List the states that some cooling in each season makes of placed machines and measures."""
        seasons = self.site.seasons
        fits = [self._season_choices(machines, measures, season) for season in seasons]
        for chosen in product(*fits):
            runs = {season.name: names for season, (names, _, _) in zip(seasons, chosen, strict=True)}
            ever = frozenset().union(*runs.values())
            if not self._cooling_goes(measures, ever):
                continue
            plugged = self._plugged(machines, measures, ever)
            if plugged is None:
                continue
            state = State(plugged, measures, runs)
            budget = self.site.policy.budget
            if budget is not None and outlay(self.site, state) > budget * (1.0 + LOOSE):
                continue
            heard = [over for season, (_, _, over) in zip(seasons, chosen, strict=True) if season.quiet]
            watts = [watts for _, watts, _ in chosen]
            yield Candidate(state, self._values(state, watts, heard or [over for _, _, over in chosen]))

    def _season_choices(
        self, machines: tuple[Machine, ...], measures: Names, season: Season
    ) -> list[tuple[Names, float, float]]:
        """List each set of cooling that keeps a season cool enough, its mean watts and dB over targets."""
        able = [option for option in self.site.cooling if season.name in option.removal]
        found = []
        for names in _subsets(option.name for option in able):
            if not self._runs_together(names, measures):
                continue
            heat_w = self.parts.heat_w(machines, measures, names)
            temperature_c = self.parts.temperature_c(season, measures, names, heat_w)
            if temperature_c is not None and temperature_c <= self.site.policy.inlet_limit_c + LOOSE:
                watts = self.parts.mean_w(machines, measures, names)
                over = self.parts.over_db(machines, measures, names, temperature_c)
                found.append((names, watts, over))
        return found

    def _runs_together(self, names: Names, measures: Names) -> bool:
        options: list[Cooling] = [self.site.cooling_option[name] for name in names]
        return not any(o.excludes & (names | measures) or o.requires - names - measures for o in options)

    def _cooling_goes(self, measures: Names, ever: Names) -> bool:
        taken = [self.site.measure[name] for name in measures]
        on_cooling = [item for item in taken if item.target in self.site.cooling_option]
        return all(item.target in ever for item in on_cooling) and not any(
            item.excludes & ever or item.requires - measures - ever for item in taken
        )

    def _plugged(
        self, machines: tuple[Machine, ...], measures: Names, ever: Names
    ) -> tuple[Machine, ...] | None:
        """Hang bought units on circuits so that the fullest one is as empty as can be; None if over."""
        plugs = self.parts.plugs(machines, measures, ever, LOOSE)
        if plugs is None:
            return None
        return tuple(replace(m, circuit=plug) for m, plug in zip(machines, plugs, strict=True))

    def _values(self, state: State, watts: Sequence[float], over_db: Sequence[float]) -> dict[Aim, float]:
        hours = math.fsum(season.hours for season in self.site.seasons)
        mean_w = math.fsum(w * s.hours / hours for w, s in zip(watts, self.site.seasons, strict=True))
        return {
            Aim.SOUND: max(0.0, math.ceil((max(over_db) - LEVEL_DB) * 2.0) / 2.0),
            Aim.POWER: mean_w,
            Aim.COST: cost(self.site, state),
            Aim.CHANGE: float(changes(self.site, state)),
        }


def _subsets(names: Iterable[str]) -> list[Names]:
    pool = tuple(names)
    sizes = range(len(pool) + 1)
    return [frozenset(chosen) for chosen in chain.from_iterable(combinations(pool, size) for size in sizes)]
