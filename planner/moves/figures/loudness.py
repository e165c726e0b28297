"""How loud a state is in one number that adds up: energy over the listeners' targets, and mean watts."""

from __future__ import annotations

import math

from planner.domain.air import Season
from planner.domain.site import Site
from planner.domain.sound import Bands, Sound
from planner.domain.state import State
from planner.ledger import climate, draw, today_ledger
from planner.ledger.effects import quieted
from planner.ledger.hearing import source_energy, transfer_db
from planner.physics import sound


def reference_dba(site: Site) -> dict[str, float]:
    """Look up what each listener's level is measured against: the target, or today's level without one."""
    today = today_ledger(site).levels_dba
    return {
        item.name: today[item.name] if item.target_dba is None else item.target_dba for item in site.listeners
    }


def quiet_shares(site: Site) -> list[tuple[Season, float]]:
    """List the seasons in which the targets count, each with its share of their hours."""
    seasons = [season for season in site.seasons if season.quiet] or list(site.seasons)
    hours = math.fsum(season.hours for season in seasons)
    return [(season, season.hours / hours if hours else 1.0 / len(seasons)) for season in seasons]


def energy_of(
    site: Site, source: Sound, load: float, transfers: dict[str, Bands], reference: dict[str, float]
) -> float:
    """Compute a source's energy over the references, summed over the listeners, at the limit's air inlet."""
    inlet_c = site.policy.inlet_limit_c
    return math.fsum(
        source_energy(source, transfers[name], load, inlet_c) / sound.energy(reference[name])
        for name in reference
    )


def transfers_db(site: Site, measures: frozenset[str]) -> dict[str, Bands]:
    """Compute the way from source to each listener, dB by band, under some measures."""
    return {item.name: transfer_db(site, item, measures) for item in site.listeners}


def loudness(site: Site, state: State, reference: dict[str, float]) -> float:
    """Compute the energy over the references of all that sounds, mean over the quiet seasons' hours.

    1 is one listener just at the target. Linear in what is on, so that it adds up over time; fans at the
    air inlet's limit temperature, so that it does not hang on the room's temperature.
    """
    transfers = transfers_db(site, state.measures)
    parts = []
    for machine in state.machines:
        base = machine.spec(site).sound
        parts.append((machine.name, base, draw.utilisation(site, machine), 1.0))
    parts += [(gear.name, gear.sound, 0.0, 1.0) for gear in site.gear]
    for season, share in quiet_shares(site):
        parts += [(item.name, item.sound, 1.0, share) for item in climate.running(site, season, state)]
    return math.fsum(
        share * energy_of(site, quiet, load, transfers, reference)
        for name, base, load, share in parts
        if (quiet := quieted(site, name, base, state.measures)) is not None
    )
