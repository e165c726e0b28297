"""Handbook problems from one end to the other, with every step of the arithmetic shown."""

import math

import pytest

from planner.physics import partitions, room, sound
from planner.physics.bands import A_WEIGHTING_DB
from planner.physics.elements import OPENING_TL_DB, TRANSMISSION_LOSS


def lg(value: float) -> float:
    """Ten times the decimal logarithm."""
    return 10 * math.log10(value)


def test_a_one_per_cent_gap_turns_80_db_into_60() -> None:
    """Textbook example 12.16: a 50 dB wall with 1 % open lets 80 dB through as 60."""
    wall = partitions.composite_tl_db([(9.9, 50), (0.1, 0)])
    assert 80 - wall == pytest.approx(60, abs=0.05)


def test_a_wall_with_a_window() -> None:
    """Textbook example 12.13: brick 59 dB, 9.5 m2, and window 35 dB, 1.08 m2, print 44.8 dB."""
    assert partitions.composite_tl_db([(9.5, 59), (1.08, 35)]) == pytest.approx(44.8, abs=0.05)


def test_a_wall_with_a_door_and_the_gap_under_it() -> None:
    """The wall is as good as its gap: 10 m2 of 40 dB, a 34 dB door of 0.9 x 2.1 m, 10 mm open below.

    tau S: 8.11 x 1e-4 + 1.881 x 10**-3.4 + 0.009 = 0.000811 + 0.000749 + 0.009 = 0.010560 over 10 m2.
    """
    door_m2, gap_m2 = 0.9 * 2.1 - 0.9 * 0.01, 0.9 * 0.01
    wall_m2 = 10 - door_m2 - gap_m2
    found = partitions.composite_tl_db([(wall_m2, 40), (door_m2, 34), (gap_m2, 0)])
    assert found == pytest.approx(-lg(0.010560 / 10), abs=0.005)
    assert found == pytest.approx(29.76, abs=0.01)
    sealed = partitions.composite_tl_db([(wall_m2, 40), (door_m2 + gap_m2, 34)])
    assert sealed == pytest.approx(-lg((0.000811 + 1.89 * 10**-3.4) / 10), abs=0.005)


def test_room_to_room_difference() -> None:
    """Published worked example: TL 45 dB, wall 15 m2, absorption next door 30 m2, difference 48.01 dB."""
    assert 90 - partitions.room_to_room_db(90, 45, 15, 30) == pytest.approx(48.01, abs=0.01)


def test_a_server_heard_next_door() -> None:
    """From sound power to dBA next door, each band also computed here by hand formulas.

    Source 70 dBA, small fast fan; room of 60 m2 surface; stud wall 12 m2 with a hollow door of 1.89 m2
    and a 5 mm gap under it; next door 15 m2 of absorption.
    """
    surfaces = [(60.0, (0.10, 0.10, 0.08, 0.05, 0.03, 0.03, 0.03, 0.03))]
    elements = [
        (12.0 - 1.89, TRANSMISSION_LOSS["gypsum-metal-studs"]),
        (1.89 - 0.0045, TRANSMISSION_LOSS["door-hollow-wood"]),
        (0.0045, OPENING_TL_DB),
    ]
    lw_db = sound.spectrum_for(70, "small-fast-fan")
    constants = room.room_constant_bands(surfaces)
    loud = [lw + change for lw, change in zip(lw_db, room.reverberant_transfer_bands(constants), strict=True)]
    through = partitions.composite_tl_bands(elements)
    found = partitions.room_to_room_bands(loud, through, 12, (15.0,) * 8)

    by_hand = []
    for band, lw in enumerate(lw_db):
        alpha = surfaces[0][1][band]
        lp1 = lw + lg(4 * (1 - alpha) / (60 * alpha))
        tau = sum(area * 10 ** (-tl[band] / 10) for area, tl in elements) / 12
        by_hand.append(lp1 + lg(tau) + lg(12 / 15))
    assert found == pytest.approx(by_hand)
    total = lg(sum(10 ** ((level + a) / 10) for level, a in zip(by_hand, A_WEIGHTING_DB, strict=True)))
    assert sound.a_weighted_total(found) == pytest.approx(total)
    # At 1 kHz the hollow door governs. tau S: wall 10.11 x 10**-4.7 = 0.00020,
    # door 1.8855 x 10**-1.8 = 0.02988, gap 0.0045; together 0.03458 of 12 m2.
    assert through[4] == pytest.approx(25.40, abs=0.01)


def test_a_ceiling_that_the_wall_stops_at_undoes_the_wall() -> None:
    """A wall of 45 dB beside a ceiling path of 25 dB leaves 25 dB (row A33); in bands never above either.

    As elements of one area each they share the sound: the loss of both is 10 lg 2 above that of the area.
    """
    wall, ceiling = TRANSMISSION_LOSS["gypsum-metal-studs-wool"], partitions.ceiling_path_bands(35)
    both = partitions.composite_tl_bands([(12, wall), (12, ceiling)])
    for together, alone, over in zip(both, wall, ceiling, strict=True):
        assert together - lg(2) < min(alone, over) + 1e-9
    assert ceiling[3] == 35
