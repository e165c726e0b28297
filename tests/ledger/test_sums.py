"""The ledger of the plain site against sums made by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.domain.air import Season
from planner.domain.machines import Role
from planner.domain.site import Site
from planner.domain.sound import Sound
from planner.domain.state import Machine, State, state_today
from planner.ledger import Ledger, ledger, today_ledger
from planner.ledger.draw import circuit_starts_w
from tests.kit.plain import flat_sound
from tests.kit.sites import plain_site

SITE = plain_site()
TODAY = state_today(SITE)

A_WEIGHTS = (-26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1)  # IEC 61672-1, 63 Hz to 8 kHz
FLAT_DBA = 10.0 * math.log10(sum(10.0 ** (weight / 10.0) for weight in A_WEIGHTS))
"""A-weighted level of 0 dB in each of the eight octaves: 6.987 dBA."""

ROOM_CONSTANT = 59.0 * 0.2 / (1.0 - 0.2)
"""S a / (1 - a) = 14.75 m²."""

DESK_DB = 10.0 * math.log10(2.0 / (4.0 * math.pi * 2.0**2) + 4.0 / ROOM_CONSTANT)
"""Direct and reverberant field 2 m away, Q = 2: -5.073 dB."""

WALL_DB = -10.0 * math.log10((8.0 * 10.0**-4.0 + 2.0 * 10.0**-2.0) / 10.0)
"""8 m² of 40 dB and 2 m² of 20 dB: 26.82 dB (check value A29)."""

RECEPTION_DB = 10.0 * math.log10(4.0 / ROOM_CONSTANT) - WALL_DB + 10.0 * math.log10(10.0 / 10.0)
"""Reverberant field, through 10 m² of wall, into 10 m² of absorption: -32.49 dB."""


def total_db(*levels_db: float) -> float:
    """Add levels as energies."""
    return 10.0 * math.log10(sum(10.0 ** (level / 10.0) for level in levels_db))


def with_measures(*names: str) -> Ledger:
    """Make the ledger of today with measures taken."""
    return ledger(SITE, replace(TODAY, measures=frozenset(names)))


def site_with_sound(sound: Sound) -> Site:
    """Make the plain site with another sound of alder."""
    boxes = (replace(SITE.boxes[0], spec=replace(SITE.boxes[0].spec, sound=sound)), SITE.boxes[1])
    return replace(SITE, boxes=boxes)


def test_levels_of_today() -> None:
    # alder 60, birch 50, switches 50 and 40, split unit 55 dB in each band
    sources_db = total_db(60.0, 50.0, 50.0, 40.0, 55.0) + FLAT_DBA
    levels = today_ledger(SITE).levels_dba
    assert levels["desk"] == pytest.approx(sources_db + DESK_DB, abs=1e-9)
    assert levels["reception"] == pytest.approx(sources_db + RECEPTION_DB, abs=1e-9)


def test_each_source_has_its_own_level_and_the_loudest_leads() -> None:
    book = today_ledger(SITE)
    levels = {source.name: source.levels_dba["desk"] for source in book.season("summer").sources}
    lw_db = {"alder": 60.0, "birch": 50.0, "phone-switch": 50.0, "core-switch": 40.0, "split-unit": 55.0}
    assert levels == pytest.approx({name: value + FLAT_DBA + DESK_DB for name, value in lw_db.items()})
    assert book.leading == {"desk": "alder", "reception": "alder"}


def test_a_calibration_offset_moves_the_level() -> None:
    listeners = (replace(SITE.listeners[0], offset_db=-3.0), SITE.listeners[1])
    moved = today_ledger(replace(SITE, listeners=listeners)).levels_dba["desk"]
    assert moved == pytest.approx(today_ledger(SITE).levels_dba["desk"] - 3.0)


def test_a_machine_between_idle_and_loaded_is_linear_in_energy() -> None:
    # 50 dB idle, 60 dB loaded, (2 + 1) of 8 cores: 10^5 + 3/8 (10^6 - 10^5) = 437,500, 56.41 dB
    book = today_ledger(site_with_sound(flat_sound(50.0, 60.0)))
    alder = next(source for source in book.season("winter").sources if source.name == "alder")
    expected = 10.0 * math.log10(437_500.0) + FLAT_DBA + DESK_DB
    assert alder.levels_dba["desk"] == pytest.approx(expected)


def test_watts_of_today() -> None:
    # alder 100 + 100 x 3/8 = 137.5; birch (80 + 80 x 0.5 x 1.1 / 4) / 0.8 = 113.75;
    # switches 100 and 40 / 0.8 = 50; split unit 600, half the time
    book = today_ledger(SITE)
    assert book.season("summer").power_w == pytest.approx(137.5 + 113.75 + 100.0 + 50.0 + 600.0)
    assert book.mean_power_w == pytest.approx(137.5 + 113.75 + 100.0 + 50.0 + 300.0)


def test_energy_and_money_of_a_year() -> None:
    # 701.25 W x 8,760 h = 6,142.95 kWh at 0.25
    book = today_ledger(SITE)
    assert book.kwh_a_year == pytest.approx(6142.95)
    assert book.money_a_year == pytest.approx(1535.7375)


def test_seasons_count_by_their_hours() -> None:
    # the split unit draws 300 W on average, in 3,000 of 8,760 hours only
    state = replace(TODAY, cooling={"summer": frozenset({"split-unit"}), "winter": frozenset()})
    assert ledger(SITE, state).mean_power_w == pytest.approx(401.25 + 300.0 * 3000.0 / 8760.0)


def test_heat_is_watts_at_the_wall_less_what_leaves_by_cable() -> None:
    # 137.5 + 113.75 + 50 + (100 - 40); the split unit's own heat goes outside
    book = today_ledger(SITE)
    assert book.season("summer").heat_w == pytest.approx(361.25)
    assert book.season("summer").heat_btu_h == pytest.approx(361.25 * 3.412141633)


def test_losses_of_the_battery_unit_stay_in_the_room() -> None:
    # the phone switch behind it: 100 / 0.8 = 125 W at the wall, 40 W leave, 85 W heat; 25 W more than without
    gear = (replace(SITE.gear[0], on_ups=True), SITE.gear[1])
    assert today_ledger(replace(SITE, gear=gear)).season("summer").heat_w == pytest.approx(361.25 + 25.0)


def test_no_more_leaves_by_cable_than_is_drawn() -> None:
    gear = (replace(SITE.gear[0], leaves_room_w=500.0), SITE.gear[1])
    assert today_ledger(replace(SITE, gear=gear)).season("summer").heat_w == pytest.approx(361.25 - 60.0)


def test_circuits_carry_peaks() -> None:
    # alder 200, birch 160 / 0.8 = 200, switches 100 and 50, split unit 600
    assert today_ledger(SITE).circuits_w == {"circuit-a": pytest.approx(1150.0)}


def test_the_greatest_machine_of_a_circuit_starts_beside_all_peaks() -> None:
    # half of 200 W on top of 1150 W; birch behind the UPS draws 200 W at the wall too
    assert circuit_starts_w(SITE, TODAY) == {"circuit-a": pytest.approx(1250.0)}
    assert circuit_starts_w(SITE, State((), cooling=TODAY.cooling)) == {"circuit-a": pytest.approx(750.0)}


def test_a_circuit_carries_what_runs_in_any_season() -> None:
    state = replace(TODAY, cooling={"summer": frozenset({"split-unit"}), "winter": frozenset({"door-fan"})})
    assert ledger(SITE, state).circuits_w["circuit-a"] == pytest.approx(1150.0 + 20.0)


def test_rack_units_of_machines_and_gear() -> None:
    assert today_ledger(SITE).rack_u == 2 + 2 + 1 + 1


def test_a_host_adds_its_own_share_of_cpu_and_an_overload_stops_at_its_peak() -> None:
    # 3.5 x 1.1 / 16 of 80 W over 40 W, and never more than 120 W
    host = Machine("quiet-host-1", Role.HOST, "circuit-a", ("records-db", "mail", "files"), kind="quiet-host")
    gear_w = 150.0
    assert ledger(SITE, State((host,))).mean_power_w == pytest.approx(40.0 + 80.0 * 3.85 / 16.0 + gear_w)
    kinds = tuple(replace(kind, spec=replace(kind.spec, cpu=1.0)) for kind in SITE.kinds)
    assert ledger(replace(SITE, kinds=kinds), State((host,))).mean_power_w == pytest.approx(120.0 + gear_w)


def test_a_measure_quiets_its_source_and_changes_its_watts() -> None:
    book = with_measures("slow-fans")
    expected = total_db(50.0, 50.0, 50.0, 40.0, 55.0) + FLAT_DBA + DESK_DB
    assert book.levels_dba["desk"] == pytest.approx(expected)
    assert book.mean_power_w == pytest.approx(701.25 - 10.0)


def test_a_measure_may_bring_another_sound() -> None:
    expected = total_db(60.0, 50.0, 30.0, 40.0, 55.0) + FLAT_DBA + DESK_DB
    assert with_measures("new-switch").levels_dba["desk"] == pytest.approx(expected)


def test_a_reduction_counts_on_top_of_another_sound() -> None:
    hood = replace(SITE.measures[0], name="hood", target="phone-switch")
    site = replace(SITE, measures=(hood, *SITE.measures))
    book = ledger(site, replace(TODAY, measures=frozenset({"hood", "new-switch"})))
    # 30 - 10 dB
    expected = total_db(60.0, 50.0, 20.0, 40.0, 55.0) + FLAT_DBA + DESK_DB
    assert book.levels_dba["desk"] == pytest.approx(expected)


def test_panels_lower_the_reverberant_part() -> None:
    # 59 m² of 0.2 and 6 m² of 0.8: A = 16.6 m², R = 16.6 / (1 - 16.6 / 65)
    constant = 16.6 / (1.0 - 16.6 / 65.0)
    path_db = 10.0 * math.log10(2.0 / (16.0 * math.pi) + 4.0 / constant)
    expected = total_db(60.0, 50.0, 50.0, 40.0, 55.0) + FLAT_DBA + path_db
    assert with_measures("wall-panels").levels_dba["desk"] == pytest.approx(expected)


def test_a_better_door_helps_behind_the_wall_only() -> None:
    # 8 m² of 40 dB and 2 m² of 30 dB: (8 x 10^-4 + 2 x 10^-3) / 10 = 2.8 x 10^-4
    before, after = today_ledger(SITE).levels_dba, with_measures("sealed-door").levels_dba
    assert after["reception"] - before["reception"] == pytest.approx(10.0 * math.log10(2.8e-4 / 2.08e-3))
    assert after["desk"] == before["desk"]


def test_gear_that_is_taken_away_is_gone() -> None:
    effect = SITE.measures[1].source_effect
    assert effect is not None
    away = replace(SITE.measures[1], source_effect=replace(effect, sound=None, removes=True))
    site = replace(SITE, measures=(away,))
    book = ledger(site, replace(TODAY, measures=frozenset({"new-switch"})))
    assert book.levels_dba["desk"] == pytest.approx(total_db(60.0, 50.0, 40.0, 55.0) + FLAT_DBA + DESK_DB)
    assert book.season("summer").heat_w == pytest.approx(361.25 - 60.0)
    assert book.mean_power_w == pytest.approx(701.25 - 100.0)
    assert book.rack_u == 5


def test_gear_that_works_in_another_room_keeps_its_watts() -> None:
    # 100 W of which 40 W leave over cables: 60 W less in the room, the bill and the circuit as before
    effect = SITE.measures[1].source_effect
    assert effect is not None
    away = replace(SITE.measures[1], source_effect=replace(effect, sound=None, elsewhere=True))
    site = replace(SITE, measures=(away,))
    book = ledger(site, replace(TODAY, measures=frozenset({"new-switch"})))
    assert book.levels_dba["desk"] == pytest.approx(total_db(60.0, 50.0, 40.0, 55.0) + FLAT_DBA + DESK_DB)
    assert book.season("summer").heat_w == pytest.approx(361.25 - 60.0)
    assert book.mean_power_w == pytest.approx(701.25)
    assert book.circuits_w == today_ledger(SITE).circuits_w
    assert book.rack_u == 5


def test_a_warm_inlet_makes_fans_louder_by_their_staircase() -> None:
    # shut in summer: 25 + 361.25 / 50 = 32.2 °C, in the step up to 35 °C
    steps = ((25.0, 0.0), (30.0, 4.5), (35.0, 6.5))
    site = site_with_sound(replace(flat_sound(60.0), inlet_steps=steps))
    shut = replace(TODAY, cooling={})
    book = ledger(site, shut).season("summer")
    assert book.temperature_c == pytest.approx(32.225)
    expected = total_db(66.5, 50.0, 50.0, 40.0) + FLAT_DBA + DESK_DB
    assert book.levels_dba["desk"] == pytest.approx(expected)


def test_the_loudest_quiet_season_counts() -> None:
    # the split unit (55 dB) runs in summer only; the hottest days, louder, do not bind
    cooling = {"summer": frozenset({"split-unit"}), "winter": frozenset[str]()}
    state = replace(TODAY, cooling=cooling)
    with_unit = total_db(60.0, 50.0, 50.0, 40.0, 55.0) + FLAT_DBA + DESK_DB
    without = total_db(60.0, 50.0, 50.0, 40.0) + FLAT_DBA + DESK_DB
    assert ledger(SITE, state).levels_dba["desk"] == pytest.approx(with_unit)
    summer, winter = SITE.seasons
    hottest = replace(summer, quiet=False)
    site = replace(SITE, seasons=(hottest, winter))
    assert ledger(site, state).levels_dba["desk"] == pytest.approx(without)


def test_where_no_season_is_quiet_all_count() -> None:
    seasons = tuple(replace(season, quiet=False) for season in SITE.seasons)
    assert today_ledger(replace(SITE, seasons=seasons)).levels_dba == today_ledger(SITE).levels_dba


def test_an_assumed_level_is_marked() -> None:
    book = today_ledger(site_with_sound(replace(flat_sound(60.0), origin="assumed")))
    assert {source.name for source in book.season("summer").sources if source.assumed} == {"alder"}


def test_a_season_that_is_not_there_is_an_error() -> None:
    assert today_ledger(SITE).season("winter").season == Season("winter", 20.0, 5760.0).name
    with pytest.raises(KeyError):
        today_ledger(SITE).season("autumn")
