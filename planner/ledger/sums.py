"""The ledger itself: each season's sums, and what they come to in a year."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from planner.domain.air import Season
from planner.domain.site import Site
from planner.domain.sound import Sound
from planner.domain.state import State, state_today
from planner.ledger import climate, draw
from planner.ledger.effects import quieted
from planner.ledger.hearing import source_energy, transfer_db
from planner.physics import heat, power, sound


@dataclass(frozen=True)
class Source:
    """One thing that sounds in one season: its A-weighted level at each listener by name, dBA."""

    name: str
    sort: str
    levels_dba: Mapping[str, float]
    assumed: bool


@dataclass(frozen=True)
class SeasonLedger:
    """One season's sums: watts at the wall, heat into the room, its temperature, air moved, levels."""

    season: str
    power_w: float
    heat_w: float
    temperature_c: float
    airflow_m3_s: float
    levels_dba: Mapping[str, float]
    sources: tuple[Source, ...]

    def leading(self, listener: str) -> str:
        """Find the name of the source that leads at a listener, '' when nothing sounds."""
        best = max(self.sources, key=lambda source: source.levels_dba[listener], default=None)
        return best.name if best is not None else ""

    @property
    def heat_btu_h(self) -> float:
        """The heat in BTU/h."""
        return heat.btu_h_from_w(self.heat_w)


@dataclass(frozen=True)
class Ledger:
    """All seasons of a state, and what they come to in a year.

    ``levels_dba`` is each listener's loudest quiet season, ``leading`` the source that leads then,
    ``circuits_w`` the greatest continuous load of each circuit.
    """

    seasons: tuple[SeasonLedger, ...]
    levels_dba: Mapping[str, float]
    leading: Mapping[str, str]
    circuits_w: Mapping[str, float]
    mean_power_w: float
    kwh_a_year: float
    money_a_year: float
    rack_u: int

    def season(self, name: str) -> SeasonLedger:
        """Look up one season's sums; KeyError when there is none of that name."""
        for entry in self.seasons:
            if entry.season == name:
                return entry
        raise KeyError(name)


def ledger(site: Site, state: State) -> Ledger:
    """Add up a state of a site."""
    seasons = tuple(_season(site, state, season) for season in site.seasons)
    quiet = [entry for entry, season in zip(seasons, site.seasons, strict=True) if season.quiet] or [*seasons]
    loudest = {
        item.name: max(quiet, key=lambda entry: entry.levels_dba[item.name]) for item in site.listeners
    }
    hours = math.fsum(season.hours for season in site.seasons)
    mean_w = math.fsum(_mean_power_w(site, state, season) * season.hours / hours for season in site.seasons)
    kwh = power.annual_kwh(mean_w)
    return Ledger(
        seasons=seasons,
        levels_dba={name: entry.levels_dba[name] for name, entry in loudest.items()},
        leading={name: entry.leading(name) for name, entry in loudest.items()},
        circuits_w=draw.circuit_loads_w(site, state),
        mean_power_w=mean_w,
        kwh_a_year=kwh,
        money_a_year=kwh * site.supply.price_kwh,
        rack_u=rack_u(site, state),
    )


def today_ledger(site: Site) -> Ledger:
    """Add up the site as it is today."""
    return ledger(site, state_today(site))


def rack_u(site: Site, state: State) -> int:
    """Compute the rack units taken by machines and gear that are there."""
    machines = sum(machine.spec(site).rack_u for machine in state.machines)
    return machines + sum(
        gear.rack_u for gear in site.gear if quieted(site, gear.name, gear.sound, state.measures) is not None
    )


def heat_w(site: Site, state: State, season: Season) -> float:
    """Compute the heat that goes into the room's air in a season, W, before anything takes it out."""
    machines = [draw.machine_w(site, machine, state.measures) for machine in state.machines]
    gear = [draw.gear_heat_w(site, item, state.measures) for item in site.gear]
    cooling = [
        draw.cooling_w(site, option, state.measures) * option.heats_room
        for option in climate.running(site, season, state)
    ]
    return math.fsum([*machines, *gear, *cooling])


def _mean_power_w(site: Site, state: State, season: Season) -> float:
    """Compute the mean draw at the wall over a season, W: cooling by its duty."""
    return _machines_and_gear_w(site, state) + math.fsum(
        draw.cooling_w(site, option, state.measures) * option.duty
        for option in climate.running(site, season, state)
    )


def _machines_and_gear_w(site: Site, state: State) -> float:
    machines = [draw.machine_w(site, machine, state.measures) for machine in state.machines]
    return math.fsum([*machines, *(draw.gear_w(site, item, state.measures) for item in site.gear)])


def _season(site: Site, state: State, season: Season) -> SeasonLedger:
    heat_in = heat_w(site, state, season)
    temperature = climate.temperature_c(site, season, state, heat_in)
    sources = _sources(site, state, season, temperature)
    levels = {
        item.name: sound.add_levels(*(source.levels_dba[item.name] for source in sources))
        for item in site.listeners
    }
    cooling_w = math.fsum(
        draw.cooling_w(site, option, state.measures) for option in climate.running(site, season, state)
    )
    return SeasonLedger(
        season=season.name,
        power_w=_machines_and_gear_w(site, state) + cooling_w,
        heat_w=heat_in,
        temperature_c=temperature,
        airflow_m3_s=math.fsum(flow for flow, _ in climate.air_flows(site, season, state)),
        levels_dba=levels,
        sources=sources,
    )


def sounding(site: Site, state: State, season: Season) -> list[tuple[str, str, Sound, float]]:
    """List (name, sort, sound as it leaves the maker, utilisation) of all that is on."""
    machines = [
        (item.name, "machine", item.spec(site).sound, draw.utilisation(site, item)) for item in state.machines
    ]
    gear = [(item.name, "gear", item.sound, 0.0) for item in site.gear]
    cooling = [(item.name, "cooling", item.sound, 1.0) for item in climate.running(site, season, state)]
    return [*machines, *gear, *cooling]


def _sources(site: Site, state: State, season: Season, inlet_c: float) -> tuple[Source, ...]:
    transfers = {item.name: transfer_db(site, item, state.measures) for item in site.listeners}
    found: list[Source] = []
    for name, sort, base, load in sounding(site, state, season):
        source = quieted(site, name, base, state.measures)
        if source is None:
            continue
        levels = {
            listener: sound.level(source_energy(source, transfer, load, inlet_c))
            for listener, transfer in transfers.items()
        }
        found.append(Source(name, sort, levels, source.origin == "assumed"))
    return tuple(found)
