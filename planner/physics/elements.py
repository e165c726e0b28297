"""Transmission loss of walls, windows, doors and floors, by a short name of ours.

Octaves 125 Hz to 4 kHz come from ONE acoustics handbook (chapter 11, table 11.4): laboratory values, sealed.
63 Hz and 8 kHz are assumed (see `extend_transmission_loss`).
"""

from collections.abc import Mapping

from planner.physics.bands import OCTAVE_HZ, Bands, extend_transmission_loss

TRANSMISSION_LOSS: Mapping[str, Bands] = {
    # Gypsum 12.7 mm each side, wood studs
    "gypsum-wood-studs": extend_transmission_loss((17, 31, 33, 40, 38, 36)),
    # Gypsum 12.7 mm each side, wood studs, 50 mm insulation
    "gypsum-wood-studs-wool": extend_transmission_loss((15, 30, 34, 44, 46, 41)),
    # Gypsum 2x12.7 mm (double layer), wood studs
    "gypsum-double-wood-studs": extend_transmission_loss((25, 34, 41, 51, 48, 50)),
    # Gypsum 12.7 mm, staggered wood studs
    "gypsum-staggered-studs": extend_transmission_loss((23, 28, 39, 46, 54, 44)),
    # Gypsum 12.7 mm, staggered wood studs, 50 mm insulation
    "gypsum-staggered-studs-wool": extend_transmission_loss((29, 38, 45, 52, 58, 50)),
    # Gypsum 12.7 mm each side, metal studs
    "gypsum-metal-studs": extend_transmission_loss((22, 27, 43, 47, 37, 46)),
    # Gypsum 12.7 mm each side, metal studs, 50 mm insulation
    "gypsum-metal-studs-wool": extend_transmission_loss((26, 41, 52, 54, 45, 51)),
    # Concrete masonry 200 mm
    "masonry-200mm": extend_transmission_loss((36, 44, 50, 54, 58, 56)),
    # Brick wall 100 mm
    "brick-100mm": extend_transmission_loss((32, 34, 40, 47, 55, 61)),
    # Glass single 3 mm
    "glass-3mm": extend_transmission_loss((18, 21, 26, 31, 33, 22)),
    # Glass laminated 12 mm
    "glass-laminated-12mm": extend_transmission_loss((31, 34, 38, 40, 37, 46)),
    # Double glazing 3 mm panes, 50 mm air gap
    "glass-double-50mm-gap": extend_transmission_loss((13, 25, 35, 44, 49, 43)),
    # Door, hollow wood 44 mm
    "door-hollow-wood": extend_transmission_loss((14, 19, 23, 18, 17, 21)),
    # Door, solid wood 44 mm
    "door-solid-wood": extend_transmission_loss((29, 31, 31, 31, 39, 43)),
    # Door, hollow metal 44 mm
    "door-hollow-metal": extend_transmission_loss((24, 23, 29, 31, 24, 40)),
    # Door, filled metal 44 mm
    "door-filled-metal": extend_transmission_loss((26, 34, 40, 48, 44, 52)),
    # Open-plan office partition screen
    "office-screen": extend_transmission_loss((10, 12, 12, 12, 12, 11)),
    # Concrete slab floor 200 mm
    "concrete-slab-200mm": extend_transmission_loss((32, 38, 47, 52, 57, 63)),
}
"""Transmission loss in dB in each octave band, by name of the element."""

OPENING_TL_DB: Bands = (0.0,) * len(OCTAVE_HZ)
"""Transmission loss in dB of a gap, crack or open louvre: nothing.

An approximation: slit theory gives -4.5 to +5 dB by width, depth and frequency (secondary source).
"""
