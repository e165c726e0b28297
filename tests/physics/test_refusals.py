"""What makes no sense is refused with a sentence, not computed."""

import math
from collections.abc import Callable

import pytest

from planner.physics import (
    air,
    bands,
    criteria,
    exposure,
    fans,
    heat,
    partitions,
    power,
    room,
    sound,
    storage,
)

NAN = math.nan

REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: bands.require_bands("the spectrum", [1.0] * 7), "8 octave values"),
    (lambda: bands.extend_absorption([0.1] * 8), "6 octave values"),
    (lambda: bands.extend_absorption([1.2] * 6), "between 0 and 1"),
    (lambda: sound.add_levels(60, 2000), "below 1000 dB"),
    (lambda: sound.energy(NAN), "must be a number"),
    (lambda: sound.level(-1), "cannot be -1"),
    (lambda: sound.subtract_background(62, 60), "measure closer"),
    (lambda: sound.spectrum_for(60, "square"), "choose one of large-slow-fan"),
    (lambda: sound.lw_from_pressure(60, 0), "distance"),
    (lambda: sound.lw_from_pressure(60, 1, "ceiling"), "choose one of free"),
    (lambda: sound.mean_of_declared(58, -1), "zero or more"),
    (lambda: criteria.nc_rating([30.0] * 7), "8 octave values"),
    (lambda: criteria.good_for("cinema", 30), "unknown use"),
    (lambda: exposure.allowed_hours(85, "mars"), "unknown exposure limit"),
    (lambda: room.room_constant(50, 1.0), "mean absorption"),
    (lambda: room.absorption_area([]), "at least one surface"),
    (lambda: room.absorption_area([(0.0, (0.1,) * 8)]), "area of a surface"),
    (lambda: room.inside_transfer_db(2, 0, 10), "distance"),
    (lambda: partitions.composite_tl_db([]), "at least one element"),
    (lambda: partitions.composite_tl_db([(-1, 30)]), "area of an element"),
    (lambda: partitions.room_to_room_db(80, 40, 10, 0), "absorption of the receiving room"),
    (lambda: fans.speed_change_db(0), "speed ratio"),
    (lambda: fans.voltage_speed_ratio(12, 1, 1), "voltage left"),
    (lambda: fans.inlet_rise_db(30, ()), "ascending"),
    (lambda: fans.inlet_rise_db(30, ((30, 1), (25, 0))), "ascending"),
    (lambda: fans.inlet_rise_db(NAN, fans.INLET_STEPS), "inlet temperature"),
    (lambda: heat.steady_temperature_c(1500, 0, 21), "no path for its heat"),
    (lambda: heat.steady_temperature_c(1500, 0, 21, [(0.0, 20)]), "no path for its heat"),
    (lambda: heat.path_capacity_w(30, 20, -1), "airflow"),
    (lambda: heat.wall_u_w_m2_k([]), "at least one layer"),
    (lambda: air.density_ratio(20_000), "altitude"),
    (lambda: air.dew_point_c(20, 0), "relative humidity"),
    (lambda: air.dew_point_c(20, 101), "relative humidity"),
    (lambda: air.relative_humidity_pct(20, 21), "dew point"),
    (lambda: air.saturation_pressure_pa(300), "between -100 and 200"),
    (lambda: air.inlet_verdict("B", 20), "unknown equipment class"),
    (lambda: air.inlet_verdict("recommended", 20), "name the class"),
    (lambda: power.power_w(100, 90, 0.5), "below the idle power"),
    (lambda: power.ups_run_time_min(400, 100, 0), "efficiency"),
    (lambda: power.payback_years(-1, 5), "cost"),
    (lambda: power.circuit_continuous_w(0, 230), "breaker"),
    (lambda: storage.raid_usable(3, 4, 4), "unknown RAID level 3"),
    (lambda: storage.raid_usable(5, 2, 4), "at least 3 disks"),
    (lambda: storage.raid_usable(10, 5, 4), "even number"),
    (lambda: storage.host_iops(5, 5, 100, 1.5), "share of writes"),
    (lambda: storage.copy_hours(-1, 1000), "size in GB"),
    (lambda: storage.copy_hours(1, -1), "line rate"),
]


@pytest.mark.parametrize(("call", "sentence"), REFUSED, ids=[sentence for _, sentence in REFUSED])
def test_nonsense_is_refused_with_a_sentence(call: Callable[[], object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        call()
