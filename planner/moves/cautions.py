"""What each task must warn of: ids of hazards with the sentence that is shown (sources: see each text)."""

from __future__ import annotations

from planner.site import Cooling, Measure

CAUTIONS = {
    "lifting": "Two people lift what weighs more than 18 to 23 kg; heaviest at the bottom of the rack, one "
    "device pulled out at a time, the rack held against tipping.",
    "circuit-overload": "Keep the continuous load of a circuit within its limit (80 % of the breaker, or the "
    "local rule) and start machines one after the other.",
    "data-loss": "Restore a backup as a test before each cutover; keep the source machine intact until the "
    "rollback deadline; never roll back or clone a directory server.",
    "sealed-room": "A sealed door takes away the leak that was cooling: check the heat balance and fit a "
    "high-temperature alarm with shutdown first.",
    "hvac": "Refrigerant, ducts, dampers and combustion air are for licensed trades; a fan that only "
    "extracts can draw flue gas back into the room.",
    "condensate": "Empty or drain the condensate of a portable unit; keep the dew point under 15 °C.",
    "fan-swap": "Slower or fewer fans can overheat a machine or stall when cold: log CPU and disk "
    "temperatures for 24 h under load before and after, stop above the maker's limit.",
    "psu-internals": "Never open a power supply: its capacitors stay charged. Swap the whole unit.",
    "mains-ups": "Unplug and discharge; a UPS output is live without mains. Circuits are for a licensed "
    "electrician.",
    "foam": "Bare polyurethane foam is a fire load: use rated mineral or glass fibre.",
    "fire-rated": "Never cut or drill a fire-rated door or wall, nor fit an unlisted seal or louvre, without "
    "approval; close penetrations with listed fire stop.",
    "plenum": "Only plenum-rated cable and foam in an air-handling ceiling; never a machine.",
    "egress": "The door must open from inside without a key; exits and extinguishers stay free.",
    "asbestos": "Have old ceilings and walls surveyed for asbestos and lead before drilling.",
    "hearing": "At 85 dBA and more wear hearing protectors and limit the time in the room.",
    "privacy": "A quieter room lets speech next door be understood.",
}
"""Sentences by hazard id; an inventory may name further ones."""

MACHINE_IN = ("lifting", "circuit-overload")
DATA = ("data-loss",)
MACHINE_OUT = ("lifting", "mains-ups", "data-loss")
COOLING_STOP = ("sealed-room", "hvac")


def caution_text(caution: str) -> str:
    """Give the sentence of a caution; one that the inventory wrote itself is its own sentence."""
    return CAUTIONS.get(caution, caution)


def of_measure(measure: Measure) -> tuple[str, ...]:
    """Give the cautions of a measure: those it names, then those its effects bring."""
    found = list(measure.cautions)
    effect, room = measure.source_effect, measure.room_effect
    if effect is not None:
        found += ["mains-ups"] if effect.removes else ["fan-swap", "psu-internals"]
    if room is not None:
        found += ["sealed-room"] if room.leak_delta_m3_s < 0.0 else []
        found += ["foam", "asbestos"] if room.surfaces else []
        found += ["fire-rated", "egress"] if room.elements else []
    return tuple(dict.fromkeys(found))


def of_cooling(option: Cooling) -> tuple[str, ...]:
    """Give the cautions of bringing in a cooling option."""
    found = [*option.cautions, "hvac", "circuit-overload"]
    if any(removal.flow_m3_s > 0.0 for removal in option.removal.values()):
        found += ["fire-rated", "plenum"]
    if any(removal.capacity_w > 0.0 for removal in option.removal.values()):
        found += ["condensate"]
    return tuple(dict.fromkeys(found))
