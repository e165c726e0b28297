"""Absorption coefficients of surfaces, by a short name of ours.

Octaves 125 Hz to 4 kHz come from handbook tables; 63 Hz and 8 kHz are assumed equal to their neighbours
(see `extend_absorption`). Thin board at 125 Hz is uncertain by a factor of three (0.10 in one handbook,
0.29 in another) because it depends on the cavity behind: compare `gypsum-board` and `plasterboard-12mm`.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from planner.physics.bands import Bands, extend_absorption

_TABLE_27 = "handbook table 27.1"
_AUDIO_HANDBOOK = "audio engineering handbook, table 29.3 and generic table"
_ROOM_LIBRARY = "materials table of the pyroomacoustics library 0.10.1"
_BARRON = "Barron, Industrial Noise Control and Acoustics, appendix D"


class Absorber(NamedTuple):
    """A surface: absorption coefficients in eight octaves, a description and where the figures come from."""

    alphas: Bands
    description: str
    source: str


def _absorber(six: Sequence[float], description: str, source: str) -> Absorber:
    return Absorber(extend_absorption(six), description, source)


ABSORBERS: Mapping[str, Absorber] = {
    "gypsum-board": _absorber(
        (0.1, 0.08, 0.05, 0.03, 0.03, 0.03), "Gypsum board 12.7 mm on studs 400 mm o.c.", _TABLE_27
    ),
    "plasterboard-12mm": _absorber(
        (0.29, 0.1, 0.06, 0.05, 0.04, 0.04), "Plasterboard 12 mm on studs", _AUDIO_HANDBOOK
    ),
    "plasterboard-double-wool": _absorber(
        (0.15, 0.1, 0.06, 0.04, 0.04, 0.05),
        "2x13 mm plasterboard, steel frame, 50 mm mineral wool, painted",
        _ROOM_LIBRARY,
    ),
    "carpet-heavy": _absorber((0.02, 0.06, 0.14, 0.37, 0.6, 0.65), "Carpet, heavy, on concrete", _TABLE_27),
    "carpet-heavy-underlay": _absorber(
        (0.08, 0.24, 0.57, 0.69, 0.71, 0.73), "Carpet, heavy, on hairfelt/foam underlay", _TABLE_27
    ),
    "carpet-thin": _absorber(
        (0.02, 0.04, 0.08, 0.2, 0.35, 0.4), "Carpet, thin, cemented to concrete", _ROOM_LIBRARY
    ),
    "linoleum": _absorber(
        (0.02, 0.03, 0.03, 0.03, 0.03, 0.02), "Linoleum/rubber/vinyl tile on concrete", _ROOM_LIBRARY
    ),
    "concrete-bare": _absorber((0.01, 0.01, 0.02, 0.02, 0.02, 0.03), "Concrete, poured, unpainted", _BARRON),
    "concrete-block-bare": _absorber(
        (0.36, 0.44, 0.31, 0.29, 0.39, 0.25), "Concrete block, coarse/unpainted", _BARRON
    ),
    "concrete-block-painted": _absorber(
        (0.1, 0.05, 0.06, 0.07, 0.09, 0.08), "Concrete block, painted", _BARRON
    ),
    "ceiling-tile-fissured": _absorber(
        (0.49, 0.53, 0.53, 0.75, 0.92, 0.99), "Acoustic ceiling tile, fissured", _ROOM_LIBRARY
    ),
    "ceiling-tile-wood-fibre": _absorber(
        (0.15, 0.4, 0.7, 0.8, 0.8, 0.8), "Wood-fibre ceiling tile", _AUDIO_HANDBOOK
    ),
    "ceiling-plasterboard": _absorber(
        (0.2, 0.15, 0.1, 0.08, 0.04, 0.02), "Plasterboard ceiling, large air space", _ROOM_LIBRARY
    ),
    "glass-heavy": _absorber(
        (0.18, 0.06, 0.04, 0.03, 0.02, 0.02), "Glass, large heavy pane (6 mm+)", _TABLE_27
    ),
    "glass-window": _absorber((0.35, 0.25, 0.18, 0.12, 0.07, 0.04), "Glass, ordinary window", _TABLE_27),
    "glass-double": _absorber(
        (0.1, 0.07, 0.05, 0.03, 0.02, 0.02), "Double glazing, 2-3 mm glass, 10 mm gap", _ROOM_LIBRARY
    ),
    "door-wood": _absorber((0.14, 0.1, 0.06, 0.08, 0.1, 0.1), "Door, solid wood", _ROOM_LIBRARY),
    "rockwool-50mm-40kg": _absorber(
        (0.23, 0.59, 0.86, 0.86, 0.86, 0.86), "Rockwool slab 50 mm, 40 kg/m3", _ROOM_LIBRARY
    ),
    "rockwool-50mm-80kg": _absorber(
        (0.22, 0.6, 0.92, 0.9, 0.88, 0.88), "Rockwool slab 50 mm, 80 kg/m3", _ROOM_LIBRARY
    ),
    "fibreglass-board-50mm": _absorber(
        (0.25, 0.49, 0.98, 0.99, 0.91, 0.85), "Fibreglass formboard 50 mm", _BARRON
    ),
    "fibreglass-board-50mm-high": _absorber(
        (0.33, 0.67, 0.99, 0.99, 0.94, 0.9), "Fibreglass formboard 50 mm (2nd row)", _BARRON
    ),
    "ceiling-board-cloth-25mm": _absorber(
        (0.06, 0.25, 0.68, 0.97, 0.99, 0.92), "Ceiling board, cloth-faced fibreglass 25 mm", _BARRON
    ),
    "panel-fabric-mineral": _absorber(
        (0.46, 0.93, 1.0, 1.0, 1.0, 1.0), "Fabric-covered panel, 6 pcf mineral core", _ROOM_LIBRARY
    ),
}
"""Every surface in the table, by name."""

ABSORPTION: Mapping[str, Bands] = {name: absorber.alphas for name, absorber in ABSORBERS.items()}
"""Absorption coefficient in each octave band, by name of the surface."""
