"""The dangers of the work: one sentence or two for each, in the words that every face shows.

General safety advice: local code and licensed practice come first.
"""

from __future__ import annotations

from collections.abc import Mapping

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
    "hearing": "From 80 dBA over a working day hearing can suffer, from 85 dBA it does: wear protectors in"
    " the room and keep the stay short. Local rules come first.",
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
"""Other words for a hazard."""


def hazard_of(words: str) -> str | None:
    """Look up the hazard that a caution of an inventory names, None when it is a sentence of its own."""
    slug = "-".join(words.lower().replace("/", " ").replace("_", " ").replace("-", " ").split())
    return slug if slug in TEXTS else ALIASES.get(slug)


def text_of(words: str) -> str:
    """Look up the text of the hazard that words name; a sentence of the inventory's own stays as it is."""
    return TEXTS.get(hazard_of(words) or "", words)
