"""Written sound levels: sound power, a pressure read at a distance, or eight octave bands."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from planner.inventory.text.conversions import note_conversion
from planner.inventory.text.errors import show
from planner.inventory.text.units import LENGTH, POWER_LEVEL, PRESSURE_LEVEL, UnitError
from planner.physics.bands import OCTAVE_HZ, Bands
from planner.physics.sound import MIN_BACKGROUND_GAP_DB

AT_DISTANCE = re.compile(r"(.+?)\s+at\s+(.+)", re.DOTALL)
BAND_COUNT = len(OCTAVE_HZ)
EXAMPLES = ("55 dB", "6.1 B", "52 dBA at 1 m")


@dataclass(frozen=True)
class Level:
    """A level as written: A-weighted sound power, pressure at a distance, or octave bands.

    ``off_dba``: the pressure there with this source off and all else on; ``lpa_dba`` is with it on.
    """

    lwa_db: float | None = None
    lpa_dba: float | None = None
    distance_m: float | None = None
    bands_db: Bands | None = None
    off_dba: float | None = None


def parse_level(value: Any) -> Level:
    """Read a source's level: ``55 dB``, ``6.1 B``, ``52 dBA at 1 m``, eight bands, or readings on and off.

    Raises
    ------
    UnitError
        If it is none of these; a bare dBA without a distance is refused, for it may mean either.
    """
    if isinstance(value, Level):
        return value
    if isinstance(value, dict):
        return _on_and_off(value)
    if isinstance(value, list):
        return Level(bands_db=parse_bands(value))
    match = AT_DISTANCE.fullmatch(value.strip()) if isinstance(value, str) else None
    if match:
        level = Level(lpa_dba=PRESSURE_LEVEL.parse(match[1]), distance_m=LENGTH.parse(match[2]))
        if LENGTH.is_converted(match[2]):
            note_conversion(value, f"{match[1]} at {LENGTH.show(level.distance_m or 0.0)}")
        return level
    if isinstance(value, str) and "dBA" in value.replace("dB(A)", "dBA"):
        raise UnitError(
            f"{show(value)}: is this a pressure or a power?",
            f"Write the distance, '{show(value)} at 1 m', or the sound power in dB or B.",
        )
    return Level(lwa_db=POWER_LEVEL.parse(value))


def _on_and_off(value: dict[Any, Any]) -> Level:
    """Read ``{on: 62 dBA, off: 57 dBA, at: 1.5 m}``: a meter's level with a source on and with it off."""
    if set(value) != {"on", "off", "at"}:
        raise UnitError(f"{show(value)}?", "write a meter's readings as {on: 62 dBA, off: 57 dBA, at: 1.5 m}")
    on_dba, off_dba = PRESSURE_LEVEL.parse(value["on"]), PRESSURE_LEVEL.parse(value["off"])
    if on_dba - off_dba < MIN_BACKGROUND_GAP_DB:
        raise UnitError(
            f"{on_dba:g} dBA with it on is less than 3 dB above {off_dba:g} dBA with it off.",
            "Read it closer, or when the rest is off.",
        )
    return Level(lpa_dba=on_dba, off_dba=off_dba, distance_m=LENGTH.parse(value["at"]))


def parse_bands(value: Any) -> Bands:
    """Read eight octave figures in dB, 63 Hz to 8 kHz; each may be bare.

    Raises
    ------
    UnitError
        If there are not eight, or one is no level.
    """
    if not isinstance(value, list) or len(value) != BAND_COUNT:
        count = f"{len(value)} values" if isinstance(value, list) else show(value)
        raise UnitError(f"{count}?", "write eight octave levels in dB, 63 Hz to 8 kHz")
    return tuple(POWER_LEVEL.parse(f"{item} dB" if isinstance(item, int | float) else item) for item in value)
