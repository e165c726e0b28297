"""What each task must warn of, by the ids of hazards."""

from __future__ import annotations

from planner.domain.air import Cooling
from planner.domain.measures import Measure

MACHINE_IN = ("lifting", "circuit-overload")
DATA = ("data-loss",)
MACHINE_OUT = ("lifting", "mains-ups", "data-loss")
COOLING_STOP = ("sealed-room", "hvac")


def of_measure(measure: Measure) -> tuple[str, ...]:
    """List the cautions of a measure: those it names, then those its effects bring."""
    found = list(measure.cautions)
    effect, room = measure.source_effect, measure.room_effect
    if effect is not None:
        found += ["mains-ups"] if effect.takes_out else ["fan-swap", "psu-internals"]
    if room is not None:
        found += ["sealed-room"] if room.leak_delta_m3_s < 0.0 else []
        found += ["absorber-fire", "plenum", "asbestos"] if room.surfaces else []
        found += ["fire-rated", "egress"] if room.elements else []
    return tuple(dict.fromkeys(found))


def of_cooling(option: Cooling) -> tuple[str, ...]:
    """List the cautions of bringing in a cooling option."""
    found = [*option.cautions, "hvac", "circuit-overload"]
    if any(removal.flow_m3_s > 0.0 for removal in option.removal.values()):
        found += ["fire-rated", "plenum"]
    if any(removal.capacity_w > 0.0 for removal in option.removal.values()):
        found += ["condensate"]
    return tuple(dict.fromkeys(found))
