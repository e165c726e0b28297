"""Absorption coefficients of surfaces, by a short name of ours.

Octaves 125 Hz to 4 kHz come from handbook tables; 63 Hz and 8 kHz are assumed equal to their neighbours
(see `extend_absorption`). Thin board at 125 Hz is uncertain by a factor of three (0.10 in one handbook,
0.29 in another) because it depends on the cavity behind: compare `gypsum-board` and `plasterboard-12mm`.

Sources: handbook table 27.1; an audio engineering handbook, table 29.3 and its generic table; Barron,
Industrial Noise Control and Acoustics, appendix D; materials table of the library pyroomacoustics 0.10.1.
"""

from collections.abc import Mapping

from planner.physics.bands import Bands, extend_absorption

ABSORPTION: Mapping[str, Bands] = {
    # Gypsum board 12.7 mm on studs 400 mm o.c. (handbook table 27.1)
    "gypsum-board": extend_absorption((0.1, 0.08, 0.05, 0.03, 0.03, 0.03)),
    # Plasterboard 12 mm on studs (audio engineering handbook)
    "plasterboard-12mm": extend_absorption((0.29, 0.1, 0.06, 0.05, 0.04, 0.04)),
    # 2x13 mm plasterboard, steel frame, 50 mm mineral wool, painted (pyroomacoustics)
    "plasterboard-double-wool": extend_absorption((0.15, 0.1, 0.06, 0.04, 0.04, 0.05)),
    # Carpet, heavy, on concrete (handbook table 27.1)
    "carpet-heavy": extend_absorption((0.02, 0.06, 0.14, 0.37, 0.6, 0.65)),
    # Carpet, heavy, on hairfelt/foam underlay (handbook table 27.1)
    "carpet-heavy-underlay": extend_absorption((0.08, 0.24, 0.57, 0.69, 0.71, 0.73)),
    # Carpet, thin, cemented to concrete (pyroomacoustics)
    "carpet-thin": extend_absorption((0.02, 0.04, 0.08, 0.2, 0.35, 0.4)),
    # Linoleum/rubber/vinyl tile on concrete (pyroomacoustics)
    "linoleum": extend_absorption((0.02, 0.03, 0.03, 0.03, 0.03, 0.02)),
    # Concrete, poured, unpainted (Barron)
    "concrete-bare": extend_absorption((0.01, 0.01, 0.02, 0.02, 0.02, 0.03)),
    # Concrete block, coarse/unpainted (Barron)
    "concrete-block-bare": extend_absorption((0.36, 0.44, 0.31, 0.29, 0.39, 0.25)),
    # Concrete block, painted (Barron)
    "concrete-block-painted": extend_absorption((0.1, 0.05, 0.06, 0.07, 0.09, 0.08)),
    # Acoustic ceiling tile, fissured (pyroomacoustics)
    "ceiling-tile-fissured": extend_absorption((0.49, 0.53, 0.53, 0.75, 0.92, 0.99)),
    # Wood-fibre ceiling tile (audio engineering handbook)
    "ceiling-tile-wood-fibre": extend_absorption((0.15, 0.4, 0.7, 0.8, 0.8, 0.8)),
    # Plasterboard ceiling, large air space (pyroomacoustics)
    "ceiling-plasterboard": extend_absorption((0.2, 0.15, 0.1, 0.08, 0.04, 0.02)),
    # Glass, large heavy pane (6 mm+) (handbook table 27.1)
    "glass-heavy": extend_absorption((0.18, 0.06, 0.04, 0.03, 0.02, 0.02)),
    # Glass, ordinary window (handbook table 27.1)
    "glass-window": extend_absorption((0.35, 0.25, 0.18, 0.12, 0.07, 0.04)),
    # Double glazing, 2-3 mm glass, 10 mm gap (pyroomacoustics)
    "glass-double": extend_absorption((0.1, 0.07, 0.05, 0.03, 0.02, 0.02)),
    # Door, solid wood (pyroomacoustics)
    "door-wood": extend_absorption((0.14, 0.1, 0.06, 0.08, 0.1, 0.1)),
    # Rockwool slab 50 mm, 40 kg/m3 (pyroomacoustics)
    "rockwool-50mm-40kg": extend_absorption((0.23, 0.59, 0.86, 0.86, 0.86, 0.86)),
    # Rockwool slab 50 mm, 80 kg/m3 (pyroomacoustics)
    "rockwool-50mm-80kg": extend_absorption((0.22, 0.6, 0.92, 0.9, 0.88, 0.88)),
    # Fibreglass formboard 50 mm (Barron)
    "fibreglass-board-50mm": extend_absorption((0.25, 0.49, 0.98, 0.99, 0.91, 0.85)),
    # Fibreglass formboard 50 mm (2nd row) (Barron)
    "fibreglass-board-50mm-high": extend_absorption((0.33, 0.67, 0.99, 0.99, 0.94, 0.9)),
    # Ceiling board, cloth-faced fibreglass 25 mm (Barron)
    "ceiling-board-cloth-25mm": extend_absorption((0.06, 0.25, 0.68, 0.97, 0.99, 0.92)),
    # Fabric-covered panel, 6 pcf mineral core (pyroomacoustics)
    "panel-fabric-mineral": extend_absorption((0.46, 0.93, 1, 1, 1, 1)),
}
"""Absorption coefficient in each octave band, by name of the surface."""
