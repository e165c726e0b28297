"""Sound of the site as frozen data: sources, listeners, what is between them. Levels in dB, areas in m²."""

from __future__ import annotations

from dataclasses import dataclass

Bands = tuple[float, ...]
"""Eight octave bands, 63 Hz to 8 kHz."""


@dataclass(frozen=True)
class Sound:
    """A source's sound power, unweighted octave bands in dB re 1 pW, idle and loaded.

    ``inlet_steps`` are (up to °C, rise in dB), rising: fans speed up with warm air. Empty: no rise.
    ``origin`` says where the level came from: 'declared', 'measured' or 'assumed'.
    """

    idle_db: Bands
    loaded_db: Bands
    origin: str = "declared"
    plus_minus_db: float = 3.0
    inlet_steps: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Surface:
    """A surface of the source room with its absorption coefficients by octave band."""

    name: str
    area_m2: float
    absorption: Bands


@dataclass(frozen=True)
class Element:
    """A part of a partition with its transmission loss by octave band, dB."""

    name: str
    area_m2: float
    loss_db: Bands


@dataclass(frozen=True)
class Partition:
    """What stands between the room and a listener, and how the listener's room swallows sound.

    ``absorption_m2``: equivalent absorption area of the listener's room by octave band.
    """

    elements: tuple[Element, ...]
    absorption_m2: Bands


@dataclass(frozen=True)
class Listener:
    """A position where the level counts: inside (``distance_m``) or behind a ``partition``.

    ``target_dba`` limits the sound of the room's sources there; ``confidence`` is how sure it must be that
    it is met, over one half (None: the level foretold decides). ``reading_dba`` is today's level of the
    room's sources as read there, from which ``offset_db`` comes.
    """

    name: str
    target_dba: float | None
    distance_m: float = 1.0
    directivity_q: float = 2.0
    partition: Partition | None = None
    background_dba: float | None = None
    use: str | None = None
    offset_db: float = 0.0
    assumed: frozenset[str] = frozenset()
    confidence: float | None = None
    reading_dba: float | None = None
