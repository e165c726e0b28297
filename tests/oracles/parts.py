"""The parts of a tiny site's ledgers, each computed once."""

from __future__ import annotations

import math
from functools import cache
from itertools import product

from planner.domain.air import Season
from planner.domain.site import Site
from planner.domain.sound import Bands, Sound
from planner.domain.state import Machine, State
from planner.ledger import climate, draw
from planner.ledger.effects import quieted
from planner.ledger.hearing import heard_energy, inlet_factor, transfer_db

Names = frozenset[str]
Voice = tuple[Sound, tuple[float, ...]]
"""A source's sound, for its inlet steps, and the energy it brings to each listener when the inlet is cool."""


class Parts:
    """Sums over a site's machines, gear and cooling for any choice of them, from parts that are kept."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.machine_w = cache(lambda machine, taken: draw.machine_w(site, machine, taken))
        self.machine_peak_w = cache(lambda machine, taken: draw.machine_peak_w(site, machine, taken))
        self.machine_voice = cache(self._machine_voice)
        self.gear = cache(self._gear)
        self.cooling_w = cache(lambda name, taken: draw.cooling_w(site, site.cooling_option[name], taken))
        self.cooling_voice = cache(self._cooling_voice)
        self.transfers = cache(self._transfers)
        self.plugs = cache(self._plugs)
        self.temperature_c = cache(self._temperature_c)
        targeted = [item for item in site.listeners if item.target_dba is not None]
        self.listeners = targeted or list(site.listeners)

    def heat_w(self, machines: tuple[Machine, ...], measures: Names, cooling: Names) -> float:
        """Compute the heat that goes into the room."""
        options = [
            (self.cooling_w(n, measures), self.site.cooling_option[n].heats_room) for n in sorted(cooling)
        ]
        parts = [self.machine_w(machine, measures) for machine in machines]
        return math.fsum([*parts, self.gear(measures)[1], *(watts * share for watts, share in options)])

    def mean_w(self, machines: tuple[Machine, ...], measures: Names, cooling: Names) -> float:
        """Compute the mean draw in a season, cooling by its duty."""
        options = [self.cooling_w(n, measures) * self.site.cooling_option[n].duty for n in sorted(cooling)]
        parts = [self.machine_w(machine, measures) for machine in machines]
        return math.fsum([*parts, self.gear(measures)[0], *options])

    def over_db(
        self, machines: tuple[Machine, ...], measures: Names, cooling: Names, temperature_c: float
    ) -> float:
        """Compute by how much the level exceeds the targets at most, dB (over 0 without targets)."""
        voices: list[Voice] = [*self.gear(measures)[2]]
        voices += [v for machine in machines if (v := self.machine_voice(machine, measures)) is not None]
        voices += [v for name in sorted(cooling) if (v := self.cooling_voice(name, measures)) is not None]
        factors = [inlet_factor(source, temperature_c) for source, _ in voices]
        worst = -math.inf
        for index, listener in enumerate(self.listeners):
            heard = math.fsum(f * energies[index] for f, (_, energies) in zip(factors, voices, strict=True))
            level = 10.0 * math.log10(heard) if heard > 0.0 else -math.inf
            worst = max(worst, level - (listener.target_dba or 0.0))
        return worst if self.listeners else 0.0

    def _temperature_c(self, season: Season, measures: Names, cooling: Names, heat_w: float) -> float | None:
        try:
            return climate.temperature_c(
                self.site, season, State((), measures, {season.name: cooling}), heat_w
            )
        except ValueError:
            return None

    def _transfers(self, measures: Names) -> tuple[Bands, ...]:
        return tuple(transfer_db(self.site, listener, measures) for listener in self.listeners)

    def _voice(self, source: Sound | None, measures: Names, load: float) -> Voice | None:
        if source is None:
            return None
        energies = []
        for path in self.transfers(measures):
            idle, loaded = heard_energy(source.idle_db, path), heard_energy(source.loaded_db, path)
            energies.append(idle + load * (loaded - idle))
        return source, tuple(energies)

    def _machine_voice(self, machine: Machine, measures: Names) -> Voice | None:
        source = quieted(self.site, machine.name, machine.spec(self.site).sound, measures)
        return self._voice(source, measures, draw.utilisation(self.site, machine))

    def _cooling_voice(self, name: str, measures: Names) -> Voice | None:
        source = quieted(self.site, name, self.site.cooling_option[name].sound, measures)
        return self._voice(source, measures, 1.0)

    def _gear(self, measures: Names) -> tuple[float, float, tuple[Voice, ...]]:
        """Compute the gear's watts, its heat and its voices."""
        sources = [(quieted(self.site, item.name, item.sound, measures)) for item in self.site.gear]
        voices = [self._voice(source, measures, 0.0) for source in sources]
        return (
            math.fsum(draw.gear_w(self.site, item, measures) for item in self.site.gear),
            math.fsum(draw.gear_heat_w(self.site, item, measures) for item in self.site.gear),
            tuple(voice for voice in voices if voice is not None),
        )

    def _plugs(
        self, machines: tuple[Machine, ...], measures: Names, ever: Names, loose: float
    ) -> tuple[str, ...] | None:
        """List a circuit for each machine, boxes on their own, with the least worst load; None if over."""
        site = self.site
        circuits = [circuit.name for circuit in site.supply.circuits]
        fixed = dict.fromkeys(circuits, 0.0)
        for item in site.gear:
            fixed[item.circuit] += draw.gear_w(site, item, measures)
        for name in ever:
            fixed[site.cooling_option[name].circuit] += self.cooling_w(name, measures)
        best, least = None, loose
        for plugs in product(*((machine.circuit,) if machine.box else circuits for machine in machines)):
            loads = dict(fixed)
            for machine, plug in zip(machines, plugs, strict=True):
                loads[plug] += self.machine_peak_w(machine, measures)
            worst = max(loads[name] / site.circuit[name].continuous_w - 1.0 for name in circuits)
            if worst <= least:
                best, least = plugs, worst
        return best
