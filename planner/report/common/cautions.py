"""The dangers of the work, one sentence or two for each, and which of them a plan brings with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from planner.domain.air import Cooling
from planner.domain.hazards import TEXTS, hazard_of
from planner.domain.machines import Role
from planner.domain.measures import ROOM, Measure
from planner.domain.plan import purchases, stays_put
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.physics.exposure import LOUD_DBA
from planner.report.common.entries import CautionEntry

PRIVACY_DROP_DB = 5.0
VERY_LOUD_DBA = 100.0
OWN_WORDS = "as the inventory says"


def cautions_for(
    site: Site,
    state: State,
    before_dba: Mapping[str, float],
    after_dba: Mapping[str, float],
    inside_dba: Mapping[str, float],
) -> tuple[CautionEntry, ...]:
    """Find the cautions that a plan's state brings, each with the things that bring it.

    Parameters
    ----------
    before_dba, after_dba
        Levels at the listeners, by name.
    inside_dba
        Levels for whoever is in the room, by place, before or after, whichever is louder.
    """
    found: dict[str, list[str]] = {}
    sources = (
        _of_placement(site, state),
        _of_measures(site, state),
        _of_cooling(site, state),
        _of_levels(site, before_dba, after_dba, inside_dba),
    )
    for hazard, because in (pair for source in sources for pair in source):
        names = found.setdefault(hazard, [])
        if because not in names:
            names.append(because)
    known = [CautionEntry(name, TEXTS[name], tuple(found[name])) for name in TEXTS if name in found]
    return (*known, *_in_own_words(site, state))


def _of_placement(site: Site, state: State) -> Iterator[tuple[str, str]]:
    for machine in state.machines:
        for service in machine.services:
            if not stays_put(site, machine, service):
                yield "data-loss", service
    kept = {machine.box for machine in state.machines}
    for line in purchases(site, state):
        if line.sort == "machine":
            yield "lifting", line.what
            yield "circuit-overload", line.what
    for box in site.boxes:
        if box.name not in kept:
            yield "lifting", box.name
            if box.on_ups:
                yield "mains-ups", box.name
    for machine in state.machines:
        if machine.role is Role.TOWER:
            yield "disk-heat", machine.name
    for gear in site.gear:
        if gear.leaves_room_w > 0.0:
            yield "poe", gear.name


def _of_measures(site: Site, state: State) -> Iterator[tuple[str, str]]:
    for measure in _taken(site, state):
        for words in measure.cautions:
            hazard = hazard_of(words)
            if hazard is not None:
                yield hazard, measure.name
        yield from ((hazard, measure.name) for hazard in _implied(site, measure))


def _taken(site: Site, state: State) -> list[Measure]:
    return [measure for measure in site.measures if measure.name in state.measures]


def _implied(site: Site, measure: Measure) -> Iterator[str]:
    effect, room = measure.source_effect, measure.room_effect
    on_a_machine = measure.target != ROOM and measure.target not in site.cooling_option
    if effect is not None and on_a_machine:
        yield from ("mains-ups",) if effect.takes_out else ("psu-internals", "mains-ups")
    if effect is not None and on_a_machine and any(effect.reduction_db):
        yield "fan-swap"
    if room is None:
        return
    if room.elements or room.leak_delta_m3_s:
        yield from ("fire-rated", "egress", "asbestos")
    if room.leak_delta_m3_s < 0.0:
        yield "sealed-room"
    if room.surfaces:
        yield from ("absorber-fire", "plenum", "asbestos")


def _of_cooling(site: Site, state: State) -> Iterator[tuple[str, str]]:
    today = frozenset().union(*state_today(site).cooling.values())
    then = frozenset().union(*state.cooling.values())
    for option in site.cooling:
        changed = any(
            option.name
            in state_today(site).cooling[season.name] ^ state.cooling.get(season.name, frozenset())
            for season in site.seasons
        )
        if option.name in then:
            yield from ((hazard, option.name) for hazard in _of_option(option))
        if option.name in then - today:
            yield from ((hazard, option.name) for hazard in _of_new_option(option))
        if changed and option.name in today:
            yield "sealed-room", option.name


def _of_option(option: Cooling) -> Iterator[str]:
    for words in option.cautions:
        hazard = hazard_of(words)
        if hazard is not None:
            yield hazard


def _of_new_option(option: Cooling) -> Iterator[str]:
    yield from ("hvac", "circuit-overload")
    if any(removal.flow_m3_s > 0.0 for removal in option.removal.values()):
        yield from ("fire-rated", "plenum")
    if any(removal.capacity_w > 0.0 for removal in option.removal.values()):
        yield "condensate"


def _of_levels(
    site: Site,
    before_dba: Mapping[str, float],
    after_dba: Mapping[str, float],
    inside_dba: Mapping[str, float],
) -> Iterator[tuple[str, str]]:
    for place, loudest_dba in inside_dba.items():
        if loudest_dba >= LOUD_DBA:
            yield "hearing", place
        if loudest_dba >= VERY_LOUD_DBA:
            yield "loud-discharge", place
    for listener in site.listeners:
        before, after = before_dba[listener.name], after_dba[listener.name]
        if listener.partition is not None and before - after >= PRIVACY_DROP_DB:
            yield "privacy", listener.name


def _in_own_words(site: Site, state: State) -> tuple[CautionEntry, ...]:
    running = frozenset().union(*state.cooling.values())
    said: list[tuple[str, str]] = [
        (words, item.name) for item in _taken(site, state) for words in item.cautions
    ]
    said += [(words, item.name) for item in site.cooling if item.name in running for words in item.cautions]
    return tuple(CautionEntry(OWN_WORDS, words, (name,)) for words, name in said if hazard_of(words) is None)
