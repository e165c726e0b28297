"""How sure the levels are, what is heard in all, and how the room stands when cooling or mains fail."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State
from planner.ledger import Ledger, draw
from planner.ledger.certainty import certainty
from planner.ledger.effects import quieted
from planner.ledger.failure import failure
from planner.ledger.heard import heard
from planner.physics import air, criteria, power
from planner.report.common import assumed
from planner.report.common.figures import finite
from planner.report.plan.page import FailureEntry, HearingEntry, InletEntry, PowerNote


def hearing_entries(site: Site, state: State, book: Ledger) -> tuple[HearingEntry, ...]:
    """Compute, for each listener, how sure the level is, its octave bands, NC and what it is good for."""
    return tuple(_hearing(site, state, book, item) for item in site.listeners)


def _hearing(site: Site, state: State, book: Ledger, listener: Listener) -> HearingEntry:
    sure, found = certainty(site, state, book, listener), heard(site, state, book, listener)
    return HearingEntry(
        listener=listener.name,
        low_dba=finite(sure.low_dba, 1),
        high_dba=finite(sure.high_dba, 1),
        probability=finite(sure.probability, 3),
        confidence=listener.confidence,
        offset_db=round(listener.offset_db, 1),
        calibrated=listener.reading_dba is not None,
        bands_db=tuple(finite(level, 1) for level in found.bands_db),
        nc=round(found.nc, 1),
        nc_edition=criteria.NC_EDITION,
        total_dba=finite(found.total_dba, 1),
        total_nc=round(found.total_nc, 1),
        background_spectrum_assumed=listener.background_dba is not None,
        use=listener.use,
        criterion=found.criterion,
        good_enough=found.good_enough,
        good_for=found.good_for,
        assumed=assumed.level_assumed(site, book, listener.name),
    )


def failure_entries(site: Site, state: State, book: Ledger) -> tuple[FailureEntry, ...]:
    """Compute, for each season, how long the room takes to its alarm when all cooling stops."""
    found = (
        failure(site, state, season, entry) for season, entry in zip(site.seasons, book.seasons, strict=True)
    )
    guessed = site.room.heat_capacity_j_k is None or assumed.climate_assumed(site, state)
    return tuple(
        FailureEntry(
            season=item.season,
            alarm_c=item.alarm_c,
            soonest_min=finite(item.soonest_min, 1),
            minutes=finite(item.minutes, 1),
            latest_min=finite(item.latest_min, 1),
            end_c=finite(item.end_c, 1),
            assumed=guessed,
        )
        for item in found
    )


def inlet_entries(site: Site, book: Ledger) -> tuple[InletEntry, ...]:
    """Judge the air that machines breathe in each season against the limits of their class (TC 9.9, 2021)."""
    return tuple(_inlets(site, book))


def _inlets(site: Site, book: Ledger) -> Iterator[InletEntry]:
    for season, entry in zip(site.seasons, book.seasons, strict=True):
        dew_c = season.dew_point_c
        if dew_c is not None:
            dew_c = min(dew_c, entry.temperature_c)
        verdict = air.inlet_verdict(site.policy.equipment_class, entry.temperature_c, dew_c)
        yield InletEntry(
            season=season.name,
            equipment=site.policy.equipment_class,
            temperature_c=round(entry.temperature_c, 1),
            dew_point_c=season.dew_point_c,
            recommended=verdict.recommended,
            allowed=verdict.allowed,
            reasons=verdict.reasons,
        )


def power_note(site: Site, state: State) -> PowerNote:
    """Compute the load on the UPS, how long it lasts, and how many power supplies start on each circuit."""
    load_w = math.fsum(_on_ups(site, state))
    known = site.supply.ups_wh is not None and load_w > 0.0
    minutes = None
    if known:
        minutes = power.ups_run_time_min(site.supply.ups_wh or 0.0, load_w, site.supply.ups_efficiency)
    return PowerNote(round(load_w, 1), finite(minutes, 1), tuple(_starts(site, state)))


def _on_ups(site: Site, state: State) -> Iterator[float]:
    """Look up the draws behind the UPS, without its own loss, W."""
    for machine in state.machines:
        if machine.on_ups(site):
            yield draw.machine_w(site, machine, state.measures) * site.supply.ups_efficiency
    for gear in site.gear:
        if gear.on_ups:
            yield draw.gear_w(site, gear, state.measures) * site.supply.ups_efficiency


def _starts(site: Site, state: State) -> Iterator[tuple[str, int, float]]:
    for circuit in site.supply.circuits:
        machines = sum(machine.circuit == circuit.name for machine in state.machines)
        there = [item for item in site.gear if item.circuit == circuit.name]
        gear = sum(quieted(site, item.name, item.sound, state.measures) is not None for item in there)
        count = machines + gear
        yield circuit.name, count, power.inrush_a(count)
