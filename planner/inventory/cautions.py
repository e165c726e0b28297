"""Cautions by hazard, in the words that every face shows; measures and cooling options name them."""

from __future__ import annotations

from collections.abc import Mapping

CAUTIONS: Mapping[str, str] = {
    "psu-internals": "Never open a power supply: its capacitors stay charged. Swap the whole unit.",
    "mains-ups": "Unplug and let it discharge; a UPS output is live with the mains off. Circuits are for a "
    "licensed electrician.",
    "circuit-overload": "Keep the continuous load within the breaker's share (80 % or the local rule); start "
    "machines one after the other.",
    "poe": "Network ports may carry 48 to 57 V: no damaged cable under power, and mind the switch's budget.",
    "fan-swap": "Log CPU and disk temperatures under load for 24 h before and after; stop above the maker's "
    "limit. Fan alarms, a stall at cold start and lost warranty are possible.",
    "disk-heat": "Keep disks at about 25 to 45 °C.",
    "lifting": "Two people above about 20 kg; heaviest lowest, one device pulled out at a time, rack secured "
    "against tipping.",
    "fire-rated": "Never cut, drill or trim a fire-rated door or wall, or seal it with unlisted material, "
    "without the authority's approval.",
    "plenum": "In a ceiling that carries air only cable and foam rated for it may lie, and no machines.",
    "absorber-fire": "Bare polyurethane foam is a fire load: use rated mineral or glass fibre.",
    "egress": "The door must open from inside without a key; keep ways out and extinguishers clear.",
    "hvac": "Ducts, dampers, refrigerant and combustion air are for licensed trades; an exhaust without "
    "make-up air can draw flue gas back.",
    "sealed-room": "A sealed door takes away the leak that was cooling: check the heat balance and fit a "
    "temperature alarm with shutdown first.",
    "condensate": "A portable air conditioner's tank can overflow; watch for a dew point above 15 °C.",
    "hearing": "At 85 dBA over 8 h: wear protectors and limit the time.",
    "privacy": "A quieter room no longer covers speech next door.",
    "data-loss": "Test a restore before each cutover and keep the old machine intact through the rollback "
    "time; never roll back or clone a directory server.",
    "loud-discharge": "A gas discharge or noise above about 110 dB can stall spinning disks.",
    "asbestos": "Have old ceilings and walls surveyed before drilling.",
}
"""Identifier to text. General safety advice: local code and licensed practice come first."""
