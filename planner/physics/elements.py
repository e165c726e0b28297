"""Transmission loss of walls, windows, doors and floors, by a short name of ours.

Octaves 125 Hz to 4 kHz and the single number come from ONE acoustics handbook (chapter 11, table 11.4):
laboratory values, sealed. 63 Hz and 8 kHz are assumed (see `extend_transmission_loss`). The single number
is the printed one: it was rated on sixteen third-octave bands and cannot be had again from six octaves.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from planner.physics.bands import OCTAVE_HZ, Bands, extend_transmission_loss

SOURCE = "acoustics handbook, chapter 11, table 11.4"


class Element(NamedTuple):
    """A building element: transmission loss in dB in eight octaves, its printed STC, a description."""

    tl_db: Bands
    printed_stc: int
    description: str


def _element(six: Sequence[float], printed_stc: int, description: str) -> Element:
    return Element(extend_transmission_loss(six), printed_stc, description)


ELEMENTS: Mapping[str, Element] = {
    "gypsum-wood-studs": _element((17, 31, 33, 40, 38, 36), 33, "Gypsum 12.7 mm each side, wood studs"),
    "gypsum-wood-studs-wool": _element(
        (15, 30, 34, 44, 46, 41), 37, "Gypsum 12.7 mm each side, wood studs, 50 mm insulation"
    ),
    "gypsum-double-wood-studs": _element(
        (25, 34, 41, 51, 48, 50), 41, "Gypsum 2x12.7 mm (double layer), wood studs"
    ),
    "gypsum-staggered-studs": _element((23, 28, 39, 46, 54, 44), 39, "Gypsum 12.7 mm, staggered wood studs"),
    "gypsum-staggered-studs-wool": _element(
        (29, 38, 45, 52, 58, 50), 48, "Gypsum 12.7 mm, staggered wood studs, 50 mm insulation"
    ),
    "gypsum-metal-studs": _element((22, 27, 43, 47, 37, 46), 39, "Gypsum 12.7 mm each side, metal studs"),
    "gypsum-metal-studs-wool": _element(
        (26, 41, 52, 54, 45, 51), 45, "Gypsum 12.7 mm each side, metal studs, 50 mm insulation"
    ),
    "masonry-200mm": _element((36, 44, 50, 54, 58, 56), 53, "Concrete masonry 200 mm"),
    "brick-100mm": _element((32, 34, 40, 47, 55, 61), 45, "Brick wall 100 mm"),
    "glass-3mm": _element((18, 21, 26, 31, 33, 22), 26, "Glass single 3 mm"),
    "glass-laminated-12mm": _element((31, 34, 38, 40, 37, 46), 40, "Glass laminated 12 mm"),
    "glass-double-50mm-gap": _element(
        (13, 25, 35, 44, 49, 43), 37, "Double glazing 3 mm panes, 50 mm air gap"
    ),
    "door-hollow-wood": _element((14, 19, 23, 18, 17, 21), 19, "Door, hollow wood 44 mm"),
    "door-solid-wood": _element((29, 31, 31, 31, 39, 43), 34, "Door, solid wood 44 mm"),
    "door-hollow-metal": _element((24, 23, 29, 31, 24, 40), 28, "Door, hollow metal 44 mm"),
    "door-filled-metal": _element((26, 34, 40, 48, 44, 52), 43, "Door, filled metal 44 mm"),
    "office-screen": _element((10, 12, 12, 12, 12, 11), 12, "Open-plan office partition screen"),
    "concrete-slab-200mm": _element((32, 38, 47, 52, 57, 63), 50, "Concrete slab floor 200 mm"),
}
"""Every element in the table, by name."""

TRANSMISSION_LOSS: Mapping[str, Bands] = {name: element.tl_db for name, element in ELEMENTS.items()}
"""Transmission loss in dB in each octave band, by name of the element."""

PRINTED_STC: Mapping[str, int] = {name: element.printed_stc for name, element in ELEMENTS.items()}
"""STC printed in the handbook, by name of the element."""

OPENING_TL_DB: Bands = (0.0,) * len(OCTAVE_HZ)
"""Transmission loss in dB of a gap, crack or open louvre: nothing.

An approximation: slit theory gives -4.5 to +5 dB by width, depth and frequency (secondary source).
"""
