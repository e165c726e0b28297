"""The dangers of the work, one sentence or two for each, and which of them a plan brings with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from planner.plan import purchases, stays_put
from planner.report.page import CautionEntry
from planner.site import ROOM, Cooling, Measure, Role, Site
from planner.state import State, state_today

TEXTS: Mapping[str, str] = {
    "data-loss": "Restore a backup for real before each cutover, and leave the old machine untouched"
    " until the rollback window has passed. Never roll back, copy or restore a directory"
    " server as an image.",
    "psu-internals": "Never open a power supply: its capacitors hold a charge long after the plug is"
    " out. Change the whole unit.",
    "mains-ups": "Unplug before opening anything. A UPS keeps its outlets live with the mains off,"
    " and its batteries hold acid and a short-circuit current. Circuits are work for a"
    " licensed electrician.",
    "circuit-overload": "Keep the lasting load of a circuit at or under 80 % of its breaker, or what the"
    " local rule says, and switch machines on one after another.",
    "poe": "Powered network ports carry 48 to 57 V and up to 90 W each: add up the switch's"
    " whole budget, leave air round bundled cables, which warm up, and never plug a"
    " damaged cable in live.",
    "fan-swap": "Slower or other fans can overheat a machine, raise fan-fail alarms, stall on a"
    " cold start and end the warranty. Log processor and disk temperatures for 24 h"
    " under load before and after; go back at once above the maker's limit.",
    "disk-heat": "Keep hard disks between about 25 and 45 °C, in their new place too.",
    "lifting": "Two people lift what weighs over 18 to 23 kg. Heavy things sit lowest; pull out"
    " one device at a time; the rack stands on anti-tip feet or is bolted down.",
    "fire-rated": "Never cut, undercut or drill a fire-rated door or wall, nor put a louvre or an"
    " unlisted seal in it, without the authority's approval. Close cable passages with"
    " listed firestop.",
    "plenum": "Above a ceiling that carries air only plenum-rated cable and foam may lie, and"
    " never a server.",
    "absorber-fire": "Bare polyurethane foam feeds a fire: absorb sound with fire-rated mineral or glass"
    " fibre.",
    "egress": "The door opens from inside without a key, always. Exits and extinguishers stay clear.",
    "hvac": "Refrigerant, ducts, dampers and combustion air are for licensed trades. A fan that"
    " only blows out can draw flue gas (carbon monoxide) back from a boiler or water"
    " heater.",
    "sealed-room": "A leaky door, or the cooler that is switched off, carried heat away: check the"
    " heat balance and fit a high-temperature alarm with shutdown BEFORE the door is"
    " sealed or the cooler goes off.",
    "condensate": "A portable air conditioner's tank runs over unless someone empties it or it"
    " drains; keep the dew point in the room at or under 15 °C.",
    "hearing": "At 85 dBA and more over a working day hearing suffers: wear protectors in the room"
    " and keep the stay short.",
    "privacy": "A quieter room lets speech from next door be understood. Tell the people on both sides.",
    "loud-discharge": "A burst above about 110 dB, such as a gas extinguisher going off, can stall hard"
    " disks: keep backups somewhere else.",
    "asbestos": "Old ceilings and walls may hold asbestos or lead: have them surveyed before drilling.",
}
ALIASES: Mapping[str, str] = {
    "psu": "psu-internals",
    "mains": "mains-ups",
    "ups": "mains-ups",
    "circuit": "circuit-overload",
    "inrush": "circuit-overload",
    "fan": "fan-swap",
    "fans": "fan-swap",
    "undervolt": "fan-swap",
    "rack-tip": "lifting",
    "fire-door": "fire-rated",
    "fire-rated-door": "fire-rated",
    "absorber": "absorber-fire",
    "foam": "absorber-fire",
    "refrigerant": "hvac",
    "gas": "hvac",
    "humidity": "condensate",
    "lead": "asbestos",
}
LOUD_DBA = 85.0
PRIVACY_DROP_DB = 5.0
VERY_LOUD_DBA = 100.0
OWN_WORDS = "as the inventory says"


def cautions_for(
    site: Site, state: State, before_dba: Mapping[str, float], after_dba: Mapping[str, float]
) -> tuple[CautionEntry, ...]:
    """Give the cautions that a plan's state brings, each with the things that bring it.

    Parameters
    ----------
    before_dba, after_dba
        Levels at the listeners, by name.
    """
    found: dict[str, list[str]] = {}
    sources = (
        _of_placement(site, state),
        _of_measures(site, state),
        _of_cooling(site, state),
        _of_levels(site, before_dba, after_dba),
    )
    for hazard, because in (pair for source in sources for pair in source):
        names = found.setdefault(hazard, [])
        if because not in names:
            names.append(because)
    known = [CautionEntry(name, TEXTS[name], tuple(found[name])) for name in TEXTS if name in found]
    return (*known, *_in_own_words(site, state))


def hazard_of(words: str) -> str | None:
    """Give the hazard that a caution of an inventory names, None when it is a sentence of its own."""
    slug = "-".join(words.lower().replace("/", " ").replace("_", " ").replace("-", " ").split())
    return slug if slug in TEXTS else ALIASES.get(slug)


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
        yield from ("mains-ups",) if effect.removes else ("psu-internals", "mains-ups")
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
    site: Site, before_dba: Mapping[str, float], after_dba: Mapping[str, float]
) -> Iterator[tuple[str, str]]:
    for listener in site.listeners:
        before, after = before_dba[listener.name], after_dba[listener.name]
        if max(before, after) >= LOUD_DBA:
            yield "hearing", listener.name
        if max(before, after) >= VERY_LOUD_DBA:
            yield "loud-discharge", listener.name
        if listener.partition is not None and before - after >= PRIVACY_DROP_DB:
            yield "privacy", listener.name


def _in_own_words(site: Site, state: State) -> tuple[CautionEntry, ...]:
    running = frozenset().union(*state.cooling.values())
    said: list[tuple[str, str]] = [
        (words, item.name) for item in _taken(site, state) for words in item.cautions
    ]
    said += [(words, item.name) for item in site.cooling if item.name in running for words in item.cautions]
    return tuple(CautionEntry(OWN_WORDS, words, (name,)) for words, name in said if hazard_of(words) is None)
