"""Which of our functions answers which row of the table of check values.

Expected value, tolerance, source and confidence are read from the table; here are only the inputs it states.
D07 and D08 (vCPU ratio, memory with a spare host) are no physics and are checked where hosts are sized.
"""

from collections.abc import Callable, Mapping

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

# A spectrum of a textbook example (source S4 of the table), 63 Hz to 8 kHz.
SPECTRUM = (61.0, 56.0, 54.0, 50.0, 44.0, 43.0, 39.0, 34.0)

# Input of the STC test of the acoustics library (source S1).
STC_EXAMPLE_A = (18, 18, 17, 17, 20, 21, 22, 23, 25, 26, 26, 25, 25, 26, 30, 31)

# Input of the quickstart of the pyacoustics-stc library, which prints 29 and a sum of 25.579.
STC_EXAMPLE_B = (
    *(11.66, 13.303, 14.825, 20.861, 22.868, 24.943, 26.881, 28.889),
    *(30.964, 32.902, 34.84, 36.984, 38.923, 40.861, 27.557, 30.67),
)

# The E413 contour at 40 with one notch at 2.5 kHz, as the table's row A36 states it.
STC_NOTCH = (24, 27, 30, 33, 36, 39, 40, 41, 42, 43, 44, 44, 44, 23.5, 44, 44)

# The E413 contour at 45, row A37.
STC_CONTOUR_45 = (29, 32, 35, 38, 41, 44, 45, 46, 47, 48, 49, 49, 49, 49, 49, 49)

# Third octaves 100 Hz to 3.15 kHz of row A38.
RW_EXAMPLE = (
    *(20.4, 16.3, 17.7, 22.6, 22.4, 22.7, 24.8, 26.6),
    *(28.0, 30.5, 31.8, 32.5, 33.4, 33.0, 31.0, 25.5),
)

Check = Callable[[], float]

LEVELS: Mapping[str, Check] = {
    "A01": lambda: sound.add_levels(60, 60),
    "A02": lambda: sound.add_levels(*[60] * 5),
    "A03": lambda: sound.add_levels(86, 80),
    "A04": lambda: sound.subtract_background(90, 85),
    "A05": lambda: sound.add_levels(*[sound.bels_to_db(6.0)] * 4) / sound.DB_PER_BEL,
    "A06": lambda: sound.add_levels(*[sound.bels_to_db(6.27)] * 17) / sound.DB_PER_BEL,
    "A07": lambda: bands.A_WEIGHTING_DB[bands.OCTAVE_HZ.index(63)],
    "A08": lambda: bands.A_WEIGHTING_DB[bands.OCTAVE_HZ.index(4000)],
    "A09": lambda: sound.a_weighted_total(SPECTRUM),
    "A10": lambda: criteria.nc_rating(SPECTRUM),
    "A11": lambda: criteria.nc_next_step(SPECTRUM),
    "A12": lambda: criteria.nr_rating(SPECTRUM),
    "A13": lambda: criteria.nr_curve(40)[0],
    "A14": lambda: criteria.rc_mark2_number(SPECTRUM),
    "A15": lambda: sound.a_weighted_total(criteria.nc_curve(40)),
}

ROOMS: Mapping[str, Check] = {
    # The row states the absorption area, 12.2 m2 = 61 m2 x 0.2.
    "A16": lambda: room.room_constant(12.2 / 0.2, 0.2),
    "A17": lambda: 90 + room.inside_transfer_db(1, 2, 15.25),
    "A18": lambda: 90 + room.inside_transfer_db(2, 2, 15.25),
    "A19": lambda: room.critical_distance_m(1, 15.25),
    "A20": lambda: sound.distance_transfer_db(1, "free"),
    "A21": lambda: sound.distance_transfer_db(1, "floor"),
    "A22": lambda: room.sabine_rt60_s(75, 120 * 0.2),
    "A23": lambda: room.eyring_rt60_s(75, 120, 0.2),
    "A24": lambda: room.absorption_from_rt60_m2(480, 3),
    "A25": lambda: room.absorption_from_rt60_m2(480, 3) / 376,
    "A26": lambda: partitions.composite_tl_db([(9.9, 50), (0.1, 0)]),
    "A27": lambda: partitions.composite_tl_db([(9.99, 50), (0.01, 0)]),
    "A28": lambda: partitions.composite_tl_db([(9.5, 59), (1.08, 35)]),
    "A29": lambda: partitions.composite_tl_db([(8, 40), (2, 20)]),
    "A30": lambda: partitions.composite_tl_db([(0.9 * 2.1 - 0.9 * 0.01, 34), (0.9 * 0.01, 0)]),
    "A31": lambda: partitions.composite_tl_db([(0.9 * 2.1 - 5.9 * 0.003, 34), (5.9 * 0.003, 0)]),
    "A32": lambda: -partitions.room_to_room_db(0, 45, 15, 30),
    "A33": lambda: partitions.parallel_paths_db(45, 25),
    "A34": lambda: rating.stc(STC_EXAMPLE_A),
    "A35": lambda: rating.stc(STC_EXAMPLE_B, round_to_whole_db=False),
    "A36": lambda: rating.stc(STC_NOTCH, round_to_whole_db=False),
    "A37": lambda: rating.stc(STC_CONTOUR_45),
    "A38": lambda: rating.weighted_reduction_rw(RW_EXAMPLE),
    "A39": lambda: partitions.mass_law_db(10.4, 500),
}

FANS: Mapping[str, Check] = {
    "A40": lambda: fans.voltage_change_db(12, 7),
    "A41": lambda: fans.voltage_change_db(12, 9),
    "A42": lambda: fans.voltage_change_db(12, 7, fans.ELECTRONICS_DROP_V),
    "A43": lambda: fans.shaft_power_ratio(7 / 12),
    "A44": lambda: fans.size_change_db(120 / 40),
    "A45": lambda: fans.size_change_db(120 / 40) + fans.speed_change_db(1500 / 15000),
    "A46": lambda: fans.blade_pass_hz(7, 15000),
    "A47": lambda: fans.count_change_db(6),
    "A48": lambda: declared.declared_upper_limit(55, 3),
    "A49": lambda: declared.loudness_ratio(sound.bels_to_db(1)),
}

PEOPLE: Mapping[str, Check] = {
    "A50": lambda: 60 * exposure.allowed_hours(94, "niosh"),
    "A51": lambda: exposure.osha_dose_percent([(85, 5), (87, 2), (80, 0.5)]),
    "A52": lambda: exposure.osha_dose_percent([(100, 1), (90, 4), (85, 3)]),
    "A53": lambda: exposure.osha_twa_dba(118.75),
    "A54": lambda: exposure.lex_8h_dba([(85, 1)]),
    "A55": lambda: criteria.privacy_sum(45, 35),
}

HEAT: Mapping[str, Check] = {
    "B01": lambda: heat.btu_h_from_w(1000),
    "B02": lambda: heat.w_from_tons(1) / 1000,
    "B03": lambda: heat.btu_h_from_w(heat.AIR_J_M3_K * heat.m3_s_from_cfm(1)) / 1.8,
    "B04": lambda: heat.cfm_from_m3_s(heat.airflow_m3_s(12_000, heat.kelvin_from_fahrenheit_rise(20))),
    "B05": lambda: 1.8 * heat.rise_k(12_000, heat.m3_s_from_cfm(1000)),
    "B06": lambda: heat.airflow_m3_s(1000, 10),
    "B07": lambda: heat.cfm_from_m3_s(heat.airflow_m3_s(1000, heat.kelvin_from_fahrenheit_rise(18))),
    "B08": lambda: air.dry_air_density_kg_m3(20),
    "B09": lambda: air.density_ratio(1524),
    "B10": lambda: air.density_ratio(3048),
    "B11": lambda: heat.airflow_m3_s(1000, 10, air.density_ratio(1524)),
    "B12": lambda: air.dew_point_c(22, 50),
    "B13": lambda: air.dew_point_c(27, 60),
    "B14": lambda: air.relative_humidity_pct(18, air.dew_point_c(24, 45)) / 100,
    "B15": lambda: air.INLET_LIMITS["recommended"].temp_max_c,
    "B16": lambda: heat.air_heating_k_min(2000, 30),
    "B17": lambda: heat.steady_temperature_c(2000, 60, 0),
    "B18": lambda: heat.temperature_after_c(1800, 0, 2000, 60, 0, 500e3),
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
    "C04": lambda: power.idle_share(166, 265),
    "C05": lambda: power.annual_kwh(100),
    "C06": lambda: supplies.psu_input_w(100, 500, "gold", "115V"),
    "C07": lambda: supplies.psu_input_w(100, 200, "platinum", "230V-redundant"),
    "C08": lambda: supplies.ups_loss_w(500, 0.9),
    "C09": lambda: supplies.poe_cable_loss_w(4),
    "C10": lambda: power.circuit_continuous_w(20, 120),
    "C11": lambda: power.spin_up_w(),
    "C12": lambda: power.memory_w(64),
}

STORAGE: Mapping[str, Check] = {
    "D01": lambda: storage.raid_usable(5, 4, 4),
    "D02": lambda: storage.host_iops(5, 5, 180, 0.16),
    "D03": lambda: storage.host_iops(10, 8, 180, 0.16),
    "D04": lambda: storage.tcp_payload_share(),
    "D05": lambda: storage.copy_hours(1e12, storage.practical_link_bytes_s(1)),
    "D06": lambda: storage.copy_hours(1e12, storage.copy_rate_bytes_s(10, 500e6)),
}

CHECKS: Mapping[str, Check] = {**LEVELS, **ROOMS, **FANS, **PEOPLE, **HEAT, **POWER, **STORAGE}
