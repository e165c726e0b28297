"""Rooms and walls: what must hold whatever the numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics import bands, partitions, room
from planner.physics.absorption import ABSORPTION
from planner.physics.elements import TRANSMISSION_LOSS
from tests.physics.strategies import AREAS_M2, LEVELS, LOSSES_DB

ALPHAS = st.floats(min_value=0.01, max_value=0.95)
ELEMENTS = st.lists(st.tuples(AREAS_M2, LOSSES_DB), min_size=1, max_size=8)


@given(ELEMENTS)
def test_a_partition_is_between_its_worst_and_its_best_element(elements: list[tuple[float, float]]) -> None:
    found = partitions.composite_tl_db(elements)
    losses = [tl for _, tl in elements]
    assert min(losses) - 1e-9 <= found <= max(losses) + 1e-9


@given(ELEMENTS, AREAS_M2)
def test_a_gap_never_helps(elements: list[tuple[float, float]], gap_m2: float) -> None:
    assert (
        partitions.composite_tl_db([*elements, (gap_m2, 0.0)]) <= partitions.composite_tl_db(elements) + 1e-9
    )


@given(AREAS_M2, LOSSES_DB, LEVELS)
def test_a_larger_wall_and_a_barer_room_next_door_are_louder(
    area_m2: float, tl_db: float, lp1: float
) -> None:
    here = partitions.room_to_room_db(lp1, tl_db, area_m2, 10)
    assert partitions.room_to_room_db(lp1, tl_db, 2 * area_m2, 10) == pytest.approx(here + 3.0103, abs=1e-4)
    assert partitions.room_to_room_db(lp1, tl_db, area_m2, 20) == pytest.approx(here - 3.0103, abs=1e-4)


def test_bands_follow_the_single_number_formula() -> None:
    wall, door = TRANSMISSION_LOSS["gypsum-metal-studs"], TRANSMISSION_LOSS["door-solid-wood"]
    found = partitions.composite_tl_bands([(10, wall), (2, door)])
    each = [partitions.composite_tl_db([(10, w), (2, d)]) for w, d in zip(wall, door, strict=True)]
    assert list(found) == pytest.approx(each)


def test_an_element_of_no_area_counts_for_nothing() -> None:
    assert partitions.composite_tl_db([(10, 40), (0, 0)]) == pytest.approx(40)


@given(AREAS_M2, ALPHAS, st.floats(min_value=0.1, max_value=20), st.floats(min_value=1, max_value=8))
def test_level_in_a_room_falls_to_the_reverberant_one(
    area_m2: float, alpha: float, distance_m: float, q: float
) -> None:
    constant = room.room_constant(area_m2, alpha)
    near = room.inside_transfer_db(q, distance_m, constant)
    assert near >= room.inside_transfer_db(q, 2 * distance_m, constant)
    assert near >= room.reverberant_transfer_db(constant)
    assert near >= 10 * math.log10(q / (4 * math.pi * distance_m**2)) - 1e-9


def test_surfaces_add_up() -> None:
    """10 m2 of 0.1 and 30 m2 of 0.3: A = 10 m2, mean 0.25, R = 40 x 0.25 / 0.75 = 13.33 m2."""
    surfaces = [(10.0, (0.1,) * 8), (30.0, (0.3,) * 8)]
    assert room.absorption_area(surfaces) == pytest.approx([10.0] * 8)
    assert room.mean_absorption(surfaces) == pytest.approx([0.25] * 8)
    assert room.room_constant_bands(surfaces) == pytest.approx([13.3333] * 8, abs=1e-4)
    constants = room.room_constant_bands(surfaces)
    assert room.inside_transfer_bands(2, 2, constants) == pytest.approx(
        [room.inside_transfer_db(2, 2, 40 / 3)] * 8
    )


def test_tables_are_extended_as_stated() -> None:
    """63 Hz: 6 dB under 125 Hz, not below zero; absorption as 125 Hz; 8 kHz as 4 kHz."""
    assert bands.extend_transmission_loss([17, 31, 33, 40, 38, 36]) == (11, 17, 31, 33, 40, 38, 36, 36)
    assert bands.extend_transmission_loss([4, 5, 6, 7, 8, 9])[0] == 0
    assert bands.extend_absorption([0.1, 0.2, 0.3, 0.4, 0.5, 0.6])[::7] == (0.1, 0.6)
    assert all(len(row) == 8 for row in (*ABSORPTION.values(), *TRANSMISSION_LOSS.values()))


def test_thin_board_is_uncertain_by_three_at_125_hz() -> None:
    """Two handbooks: 0.10 and 0.29; the table keeps both."""
    low, high = ABSORPTION["gypsum-board"][1], ABSORPTION["plasterboard-12mm"][1]
    assert (low, high) == (0.10, 0.29)
