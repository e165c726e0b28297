"""The room's temperature by hand: walls, gaps, air paths, chillers with and without a set point."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.domain.air import Cooling, Removal
from planner.domain.measures import ROOM, Measure, RoomEffect
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import climate, ledger
from tests.kit.sites import plain_site

SITE = plain_site()
TODAY = state_today(SITE)
SUMMER = SITE.seasons[0]
HEAT_W = 361.25
"""The plain site's heat today (test_sums); walls pass 50 W/K, 25 °C around them in summer."""

AIR_J_M3_K = 1.2 * 1006.0


def chiller(name: str, capacity_w: float, setpoint_c: float | None) -> Cooling:
    """Make a chiller that heats nothing itself."""
    return replace(
        SITE.cooling[0],
        name=name,
        removal={"summer": Removal(capacity_w=capacity_w)},
        setpoint_c=setpoint_c,
    )


def summer_c(*options: Cooling, site: Site = SITE) -> float:
    """Compute the room's temperature in summer when these options run."""
    running = {"summer": frozenset(option.name for option in options)}
    return climate.temperature_c(
        replace(site, cooling=options), SUMMER, replace(TODAY, cooling=running), HEAT_W
    )


def test_walls_alone() -> None:
    assert summer_c() == pytest.approx(25.0 + 361.25 / 50.0)


def test_a_chiller_that_is_large_enough_holds_its_set_point() -> None:
    assert summer_c(chiller("split-unit", 2500.0, 24.0)) == 24.0


def test_a_chiller_that_is_too_small_takes_what_it_can() -> None:
    assert summer_c(chiller("split-unit", 100.0, 24.0)) == pytest.approx(25.0 + 261.25 / 50.0)


def test_a_chiller_without_a_set_point_always_works() -> None:
    assert summer_c(chiller("split-unit", 500.0, None)) == pytest.approx(25.0 - 138.75 / 50.0)


def test_a_chiller_below_its_set_point_does_nothing() -> None:
    # 32.2 °C without it is under 35 °C
    assert summer_c(chiller("split-unit", 2500.0, 35.0)) == pytest.approx(25.0 + 361.25 / 50.0)


@pytest.mark.parametrize(
    ("second_w", "expected_c"),
    [
        (100.0, 25.0 + 161.25 / 50.0),  # both at full power: 28.2 °C
        (300.0, 26.0),  # the first leaves 30.2 °C, the second brings it down to its set point
    ],
)
def test_two_chillers_come_in_one_after_the_other(second_w: float, expected_c: float) -> None:
    first, second = chiller("split-unit", 100.0, 22.0), chiller("spare-unit", second_w, 26.0)
    assert summer_c(first, second) == pytest.approx(expected_c)
    assert summer_c(second, first) == pytest.approx(expected_c)


def test_the_first_chiller_may_do_it_alone() -> None:
    assert summer_c(chiller("split-unit", 2500.0, 22.0), chiller("spare-unit", 2500.0, 26.0)) == 22.0


def test_an_air_path_brings_its_own_temperature_and_its_fans_heat() -> None:
    # winter: (361.25 + 20) W over 50 W/K and 0.1 m³/s x 1207.2 J/(m³ K), all from 20 °C
    state = replace(TODAY, cooling={"winter": frozenset({"door-fan"})})
    book = ledger(SITE, state).season("winter")
    assert book.temperature_c == pytest.approx(20.0 + 381.25 / (50.0 + 0.1 * AIR_J_M3_K))
    assert book.airflow_m3_s == pytest.approx(0.1)


def test_a_path_that_brings_warmer_air_warms_the_room() -> None:
    warm = replace(SITE.cooling[1], removal={"summer": Removal(flow_m3_s=0.1, supply_c=40.0)})
    w_k = 0.1 * AIR_J_M3_K
    expected = (361.25 + 50.0 * 25.0 + w_k * 40.0) / (50.0 + w_k)
    assert summer_c(warm) == pytest.approx(expected)
    assert summer_c(warm) > summer_c()


def test_thin_air_carries_less() -> None:
    # air at 1,524 m has 0.832 of the density at sea level (REFERENCE, trap 9)
    fan = replace(SITE.cooling[1], removal={"summer": Removal(flow_m3_s=0.1, supply_c=25.0)})
    high = replace(SITE, room=replace(SITE.room, altitude_m=1524.0))
    expected = 25.0 + 361.25 / (50.0 + 0.832 * 0.1 * AIR_J_M3_K)
    assert summer_c(fan, site=high) == pytest.approx(expected, abs=0.01)


def test_gaps_exchange_air_until_they_are_sealed() -> None:
    leaky = replace(SITE, room=replace(SITE.room, leak_m3_s=0.01))
    assert summer_c(site=leaky) == pytest.approx(25.0 + 361.25 / (50.0 + 0.01 * AIR_J_M3_K))
    seal = Measure("sealed-gaps", ROOM, room_effect=RoomEffect(leak_delta_m3_s=-0.02, ua_delta_w_k=-10.0))
    sealed = State(TODAY.machines, frozenset({"sealed-gaps"}))
    site = replace(leaky, measures=(seal,))
    # more cannot be sealed than leaks; walls pass 10 W/K less
    assert climate.temperature_c(site, SUMMER, sealed, HEAT_W) == pytest.approx(25.0 + 361.25 / 40.0)


@pytest.mark.parametrize(("ua_w_k", "leak_m3_s"), [(0.0, 0.0), (1e-308, 0.0), (0.0, 5e-324), (1e-7, 1e-10)])
def test_a_room_without_any_path_never_settles(ua_w_k: float, leak_m3_s: float) -> None:
    """Nor does one with next to none: 361.25 W over 1e-7 W/K would be over three thousand million kelvin."""
    shut = replace(SITE, room=replace(SITE.room, ua_w_k=ua_w_k, leak_m3_s=leak_m3_s))
    with pytest.raises(ValueError, match="no path for its heat"):
        summer_c(site=shut)
    assert summer_c(chiller("a", 900.0, 24.0), site=shut) == 24.0


def test_capacities_at_a_limit() -> None:
    # walls 50 W/K x (27 - 25) K; path 120.72 W/K x 2 K; chiller at 24 °C works at 27 °C, at 28 °C not
    assert climate.room_capacity_w(SITE, SUMMER, (), 27.0) == pytest.approx(100.0)
    fan = replace(SITE.cooling[1], removal={"summer": Removal(flow_m3_s=0.1, supply_c=25.0)})
    assert climate.option_capacity_w(SITE, SUMMER, fan, 27.0) == pytest.approx(0.1 * AIR_J_M3_K * 2.0)
    assert climate.option_capacity_w(SITE, SUMMER, chiller("a", 900.0, 24.0), 27.0) == 900.0
    assert climate.option_capacity_w(SITE, SUMMER, chiller("a", 900.0, 28.0), 27.0) == 0.0
    assert climate.option_capacity_w(SITE, SUMMER, chiller("a", 900.0, None), 27.0) == 900.0


def test_a_shut_room_is_held_by_a_chiller_with_a_set_point() -> None:
    """No wall conducts and no air moves, but the split unit takes 2.5 kW from 24 °C up."""
    site = plain_site()
    shut = replace(site, room=replace(site.room, ua_w_k=0.0))
    assert ledger(shut, state_today(shut)).season("winter").temperature_c == 24.0
    nothing = replace(state_today(shut), cooling={"summer": frozenset(), "winter": frozenset()})
    with pytest.raises(ValueError, match="no path for its heat"):
        ledger(shut, nothing)
