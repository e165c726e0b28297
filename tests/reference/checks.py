"""Which of our functions answers which row of the table of check values.

Expected value, tolerance, source and confidence are read from the table; here are only the inputs it states.
D07 and D08 (vCPU ratio, memory with a spare host) are no physics and are checked where hosts are sized.
"""

from collections.abc import Callable, Mapping

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

# A spectrum of a textbook example (source S4 of the table), 63 Hz to 8 kHz.
SPECTRUM = (61.0, 56.0, 54.0, 50.0, 44.0, 43.0, 39.0, 34.0)

# Levels in dBA and hours of row A52.
OSHA_DAY = ((100, 1), (90, 4), (85, 3))

CFM_M3_S = 1 / heat.cfm_from_m3_s(1)

Check = Callable[[], float]

LEVELS: Mapping[str, Check] = {
    "A01": lambda: sound.add_levels(60, 60),
    "A02": lambda: sound.add_levels(*[60] * 5),
    "A03": lambda: sound.add_levels(86, 80),
    "A04": lambda: sound.subtract_background(90, 85),
    "A05": lambda: sound.add_levels(*[60.0] * 4) / 10,
    "A06": lambda: sound.add_levels(*[62.7] * 17) / 10,
    "A07": lambda: bands.A_WEIGHTING_DB[bands.OCTAVE_HZ.index(63)],
    "A08": lambda: bands.A_WEIGHTING_DB[bands.OCTAVE_HZ.index(4000)],
    "A09": lambda: sound.a_weighted_total(SPECTRUM),
    "A10": lambda: criteria.nc_rating(SPECTRUM),
    "A15": lambda: sound.a_weighted_total(criteria.NC_CURVES_DB[criteria.NC_RATINGS.index(40)]),
}

ROOMS: Mapping[str, Check] = {
    # The row states the absorption area, 12.2 m2 = 61 m2 x 0.2.
    "A16": lambda: room.room_constant(12.2 / 0.2, 0.2),
    "A17": lambda: 90 + room.inside_transfer_db(1, 2, 15.25),
    "A18": lambda: 90 + room.inside_transfer_db(2, 2, 15.25),
    "A20": lambda: sound.distance_transfer_db(1, "free"),
    "A21": lambda: sound.distance_transfer_db(1, "floor"),
    "A26": lambda: partitions.composite_tl_db([(9.9, 50), (0.1, 0)]),
    "A27": lambda: partitions.composite_tl_db([(9.99, 50), (0.01, 0)]),
    "A28": lambda: partitions.composite_tl_db([(9.5, 59), (1.08, 35)]),
    "A29": lambda: partitions.composite_tl_db([(8, 40), (2, 20)]),
    "A30": lambda: partitions.composite_tl_db([(0.9 * 2.1 - 0.9 * 0.01, 34), (0.9 * 0.01, 0)]),
    "A31": lambda: partitions.composite_tl_db([(0.9 * 2.1 - 5.9 * 0.003, 34), (5.9 * 0.003, 0)]),
    "A32": lambda: -partitions.room_to_room_db(0, 45, 15, 30),
    "A33": lambda: -partitions.room_to_room_db(0, partitions.composite_tl_db([(1, 45), (1, 25)]), 2, 1),
}

FANS: Mapping[str, Check] = {
    "A40": lambda: fans.speed_change_db(fans.voltage_speed_ratio(12, 7)),
    "A41": lambda: fans.speed_change_db(fans.voltage_speed_ratio(12, 9)),
    "A42": lambda: fans.speed_change_db(fans.voltage_speed_ratio(12, 7, fans.ELECTRONICS_DROP_V)),
    "A44": lambda: fans.size_change_db(120 / 40),
    "A45": lambda: fans.size_change_db(120 / 40) + fans.speed_change_db(1500 / 15000),
    "A47": lambda: fans.count_change_db(6),
}

PEOPLE: Mapping[str, Check] = {
    "A50": lambda: 60 * exposure.allowed_hours(94, "NIOSH"),
    "A52": lambda: sum(100 * h / exposure.allowed_hours(dba, "OSHA") for dba, h in OSHA_DAY),
}

HEAT: Mapping[str, Check] = {
    "B01": lambda: heat.btu_h_from_w(1000),
    "B02": lambda: 12_000 / heat.btu_h_from_w(1) / 1000,
    "B03": lambda: heat.btu_h_from_w(heat.path_capacity_w(1, 0, CFM_M3_S)) / 1.8,
    "B04": lambda: heat.cfm_from_m3_s(12_000 / heat.path_capacity_w(20 / 1.8, 0, 1)),
    "B05": lambda: 1.8 * 12_000 / heat.path_capacity_w(1, 0, 1000 * CFM_M3_S),
    "B06": lambda: 1000 / heat.path_capacity_w(10, 0, 1),
    "B07": lambda: heat.cfm_from_m3_s(1000 / heat.path_capacity_w(18 / 1.8, 0, 1)),
    "B09": lambda: air.density_ratio(1524),
    "B10": lambda: air.density_ratio(3048),
    "B11": lambda: 1000 / heat.path_capacity_w(10, 0, 1, air.density_ratio(1524)),
    "B12": lambda: air.dew_point_c(22, 50),
    "B13": lambda: air.dew_point_c(27, 60),
    "B14": lambda: air.relative_humidity_pct(18, air.dew_point_c(24, 45)) / 100,
    "B15": lambda: air.INLET_LIMITS["recommended"].temp_max_c,
    "B16": lambda: 60 * 2000 / heat.path_capacity_w(1, 0, 30),
    "B17": lambda: heat.steady_temperature_c(2000, 60, 0),
    "B19": lambda: heat.seconds_to_temperature(15, 0, 2000, 60, 0, 500e3) / 60,
    "B20": lambda: heat.wall_u_w_m2_k(
        [
            heat.AIR_FILM_M2_K_W,
            heat.GYPSUM_12MM_M2_K_W,
            heat.STUD_CAVITY_M2_K_W,
            heat.GYPSUM_12MM_M2_K_W,
            heat.AIR_FILM_M2_K_W,
        ]
    ),
    "B21": lambda: heat.steady_temperature_c(1500, 40, 21, [(0.1, 21)]),
    "B22": lambda: heat.steady_temperature_c(1500, 40, 21),
}

POWER: Mapping[str, Check] = {
    "C01": lambda: power.power_w(166, 265, 0.3),
    "C02": lambda: power.power_w(58.4, 222, 0.5),
    "C03": lambda: 100 * abs(power.power_w(58.4, 222, 0.1) - 98) / 222,
    "C05": lambda: power.annual_kwh(100),
    "C10": lambda: power.circuit_continuous_w(20, 120),
}

STORAGE: Mapping[str, Check] = {
    "D01": lambda: storage.raid_usable(5, 4, 4),
    "D02": lambda: storage.host_iops(5, 5, 180, 0.16),
    "D03": lambda: storage.host_iops(10, 8, 180, 0.16),
    "D05": lambda: storage.copy_hours(1000, 1000),
}

CHECKS: Mapping[str, Check] = {**LEVELS, **ROOMS, **FANS, **PEOPLE, **HEAT, **POWER, **STORAGE}
