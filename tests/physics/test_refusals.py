"""What makes no sense is refused with a sentence, not computed."""

import math
from collections.abc import Callable

import pytest

from planner.physics import (
    air,
    bands,
    criteria,
    declared,
    exposure,
    fans,
    heat,
    partitions,
    power,
    rating,
    room,
    sound,
    storage,
    supplies,
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
    (lambda: sound.interpolate_levels(50, 60, 1.1), "utilisation must lie between 0 and 1"),
    (lambda: sound.spectrum_for(60, "square"), "choose one of large-slow-fan"),
    (lambda: sound.lw_from_pressure(60, 0), "distance"),
    (lambda: sound.lw_from_pressure(60, 1, "ceiling"), "choose one of free"),
    (lambda: declared.statistical_mean_lwa(None), "either the mean"),
    (lambda: declared.declared_upper_limit(55), "adder Kv"),
    (lambda: criteria.nc_curve(75), "from 15 to 70"),
    (lambda: criteria.good_for("cinema", 30), "unknown use"),
    (lambda: exposure.allowed_hours(85, "mars"), "unknown exposure limit"),
    (lambda: exposure.osha_twa_dba(0), "above zero"),
    (lambda: exposure.lex_8h_dba([(80, -1)]), "zero or more"),
    (lambda: rating.stc([30.0] * 6), "keep the rating printed"),
    (lambda: rating.stc([NAN] * 16), "ordinary number"),
    (lambda: room.room_constant(50, 1.0), "mean absorption"),
    (lambda: room.absorption_area([]), "at least one surface"),
    (lambda: room.absorption_area([(0.0, (0.1,) * 8)]), "area of a surface"),
    (lambda: room.inside_transfer_db(2, 0, 10), "distance"),
    (lambda: partitions.composite_tl_db([]), "at least one element"),
    (lambda: partitions.composite_tl_db([(-1, 30)]), "area of an element"),
    (lambda: partitions.parallel_paths_db(), "at least one path"),
    (lambda: partitions.room_to_room_db(80, 40, 10, 0), "absorption of the receiving room"),
    (lambda: fans.speed_change_db(0), "speed ratio"),
    (lambda: fans.voltage_change_db(12, 1, 1), "voltage left"),
    (lambda: fans.inlet_rise_db(30, []), "ascending"),
    (lambda: fans.inlet_rise_db(30, [(30, 1), (25, 0)]), "ascending"),
    (lambda: fans.inlet_rise_db(NAN), "inlet temperature"),
    (lambda: heat.steady_temperature_c(1500, 0, 21), "no path for its heat"),
    (lambda: heat.steady_temperature_c(1500, 0, 21, [(0.0, 20)]), "no path for its heat"),
    (lambda: heat.airflow_m3_s(1000, 0), "temperature rise"),
    (lambda: heat.path_capacity_w(30, 20, -1), "airflow"),
    (lambda: heat.temperature_after_c(-1, 20, 1000, 10, 20, 1e5), "time"),
    (lambda: heat.wall_u_w_m2_k([]), "at least one layer"),
    (lambda: air.density_ratio(20_000), "altitude"),
    (lambda: air.dew_point_c(20, 0), "relative humidity"),
    (lambda: air.dew_point_c(20, 101), "relative humidity"),
    (lambda: air.relative_humidity_pct(20, 21), "dew point"),
    (lambda: air.saturation_pressure_pa(300), "between -100 and 200"),
    (lambda: air.inlet_verdict("B", 20), "unknown equipment class"),
    (lambda: air.inlet_verdict("recommended", 20), "name the class"),
    (lambda: power.power_w(100, 90, 0.5), "below the idle power"),
    (lambda: power.component_w("tube"), "unknown component"),
    (lambda: power.circuit_continuous_w(0, 230), "breaker"),
    (lambda: supplies.psu_efficiency("wood", 0.5), "unknown efficiency level"),
    (lambda: supplies.psu_efficiency("80plus", 0.5, "230V-redundant"), "unknown efficiency level"),
    (lambda: supplies.psu_input_w(600, 500, "gold"), "between 0 and 1 of its rating"),
    (lambda: supplies.ups_loss_w(100, 0), "efficiency"),
    (lambda: supplies.poe_cable_loss_w(9), "no power class 9"),
    (lambda: storage.raid_usable(3, 4, 4), "unknown RAID level 3"),
    (lambda: storage.raid_usable(5, 2, 4), "at least 3 disks"),
    (lambda: storage.raid_usable(10, 5, 4), "even number"),
    (lambda: storage.host_iops(5, 5, 100, 1.5), "share of writes"),
    (lambda: storage.copy_hours(1, 0), "rate"),
]


@pytest.mark.parametrize(("call", "sentence"), REFUSED, ids=[sentence for _, sentence in REFUSED])
def test_nonsense_is_refused_with_a_sentence(call: Callable[[], object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        call()
