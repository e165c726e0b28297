"""What the constraint programme of a site adds up to: watts, heat, sound, money, changes, as whole numbers.

Sound energies are rounded down and limits on heat, circuits and money are kept a rounding wide, so that what
the programme refuses is certainly over; what it accepts is added up again by the ledger.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any

from planner.domain.air import Season
from planner.domain.machines import Gear, Role
from planner.domain.measures import ROOM, SourceEffect
from planner.domain.sound import Listener, Sound
from planner.ledger.effects import quieted
from planner.ledger.hearing import heard_energy, inlet_factor, transfer_db
from planner.physics import air, heat, sound
from planner.tolerances import LEVEL_DB
from tests.oracles.cpsat_model import Encoding, Literal, Names, Unit

WATT = 100_000
CENT = 100
SOUND = 1_000_000

Sum = Any
Tally = Callable[[Encoding], Sum]


def add_limits(code: Encoding) -> None:
    """Add the limits of the whole: rack units, circuits, budget, heat."""
    site, model = code.site, code.model
    if site.room.rack_u is not None:
        taken = sum(unit.spec.rack_u * code.on[unit] for unit in code.units)
        for gear in site.gear:
            gone = [
                names for names in code.sets(gear.name) if any(e.takes_out for e in _effects(code, names))
            ]
            taken += gear.rack_u * (1 - sum(code.chosen[gear.name, names] for names in gone))
        model.add(taken <= site.room.rack_u)
    for circuit in site.supply.circuits:
        model.add(_circuit(code, circuit.name) <= round(WATT * circuit.continuous_w) + 50)
    if site.policy.budget is not None:
        model.add(money(code, 0.0) <= round(CENT * site.policy.budget))
    for season in site.seasons:
        _heat(code, season)


def money(code: Encoding, rate: float) -> Sum:
    """Make the outlay in cents, with hours of work at a rate."""
    site = code.site
    terms = []
    for unit in code.units:
        if not unit.is_box:
            kind = site.kind[unit.ref]
            terms.append(round(CENT * (kind.price + rate * kind.hours)) * code.on[unit])
        elif _reused(code, unit):
            box = site.box[unit.ref]
            terms.append(round(CENT * (box.reuse_price + rate * box.reuse_hours)) * code.on[unit])
    for option in site.cooling:
        if not option.owned:
            terms.append(round(CENT * (option.price + rate * option.hours)) * code.have[option.name])
    for name, taken in code.take.items():
        measure = site.measure[name]
        terms.append(round(CENT * (measure.price + rate * measure.hours)) * taken)
    return sum(terms)


def changes(code: Encoding) -> Sum:
    """Make the number of things that change."""
    site = code.site
    total: Sum = len(site.services) + len(site.boxes)
    for (name, unit), literal in code.place.items():
        if unit.is_box and unit.ref == site.service[name].box and not _reused(code, unit):
            total -= literal
    for unit in code.units:
        if not unit.is_box:
            total += code.on[unit]
        elif not _reused(code, unit):
            total -= code.on[unit]
    total += sum(code.take.values())
    total += sum(code.have[option.name] for option in site.cooling if not option.owned)
    for (name, season), runs in code.run.items():
        total += 1 - runs if season in site.cooling_option[name].runs_today else runs
    return total


def mean_power(code: Encoding) -> Sum:
    """Make the mean watts over the year, scaled."""
    site, hours = code.site, math.fsum(season.hours for season in code.site.seasons)
    total = sum(round(WATT * watts) * literal for watts, literal in [*_machine_w(code), *_gear_w(code)])
    for season in site.seasons:
        for option, watts, literal in _cooling_w(code, season):
            share = site.cooling_option[option].duty * season.hours / hours
            total += round(WATT * watts * share) * literal
    return total


def _reused(code: Encoding, unit: Unit) -> bool:
    return unit.is_box and unit.role is Role.HOST and not code.site.box[unit.ref].hosts_today


def _effects(code: Encoding, names: Names) -> list[SourceEffect]:
    effects = [item.source_effect for item in code.site.measures if item.name in names]
    return [effect for effect in effects if effect is not None]


def _changed(code: Encoding, watts: float, names: Names) -> float:
    effects = _effects(code, names)
    return 0.0 if any(e.removes for e in effects) else watts + sum(e.power_delta_w for e in effects)


def _wall(code: Encoding, on_ups: bool) -> float:
    return 1.0 / code.site.supply.ups_efficiency if on_ups else 1.0


def _share(code: Encoding, unit: Unit, service: str) -> float:
    """Compute the utilisation that a service brings to a machine."""
    factor = 1.0 + code.site.policy.host_cpu_share if unit.role is Role.HOST else 1.0
    return code.site.service[service].demand.mean_cpu * factor / unit.spec.cpu


def _machine_w(code: Encoding) -> Iterator[tuple[float, Literal]]:
    for unit in code.units:
        wall = _wall(code, unit.on_ups)
        for names in code.unit_sets(unit):
            idle_w = _changed(code, unit.spec.idle_w, names) * wall
            yield idle_w, code.with_set(code.on[unit], unit.ref, names) if unit.is_box else code.on[unit]
    for (service, unit), literal in code.place.items():
        span_w = (unit.spec.peak_w - unit.spec.idle_w) * _wall(code, unit.on_ups)
        yield span_w * _share(code, unit, service), literal


def _one_gear_w(code: Encoding, gear: Gear, names: Names) -> float:
    return max(0.0, _changed(code, gear.power_w, names)) * _wall(code, gear.on_ups)


def _gear_w(code: Encoding) -> Iterator[tuple[float, Literal]]:
    for gear in code.site.gear:
        for names in code.sets(gear.name):
            yield _one_gear_w(code, gear, names), code.chosen[gear.name, names]


def _cooling_w(code: Encoding, season: Season) -> Iterator[tuple[str, float, Literal]]:
    for option in code.site.cooling:
        runs = code.runs(option.name, season)
        for names in code.sets(option.name) if runs is not None else ():
            watts = max(0.0, _changed(code, option.power_w, names))
            yield option.name, watts, code.with_set(runs, option.name, names)


def _circuit(code: Encoding, circuit: str) -> Sum:
    site, terms = code.site, []
    for unit in code.units:
        wall = _wall(code, unit.on_ups)
        if not unit.is_box:
            terms.append((unit.spec.peak_w * wall, code.plug[unit, circuit]))
        elif site.box[unit.ref].circuit == circuit:
            for names in code.sets(unit.ref):
                literal = code.with_set(code.on[unit], unit.ref, names)
                terms.append((_changed(code, unit.spec.peak_w, names) * wall, literal))
    for gear in site.gear:
        if gear.circuit == circuit:
            sets = code.sets(gear.name)
            terms += [(_one_gear_w(code, gear, names), code.chosen[gear.name, names]) for names in sets]
    for option in site.cooling:
        if option.circuit == circuit:
            for names in code.sets(option.name):
                literal = code.with_set(code.have[option.name], option.name, names)
                terms.append((max(0.0, _changed(code, option.power_w, names)), literal))
    return sum(round(WATT * watts) * literal for watts, literal in terms)


def inlets_c(code: Encoding, season: Season) -> list[float]:
    """List the temperatures up to which a season may go: fan steps and the limit, or the limit alone."""
    site, limit = code.site, code.site.policy.inlet_limit_c
    sounds = [unit.spec.sound for unit in code.units]
    sounds += [*(gear.sound for gear in site.gear), *(option.sound for option in site.cooling)]
    sounds += [e.sound for m in site.measures if (e := m.source_effect) is not None and e.sound is not None]
    steps = {upper for each in sounds for upper, _ in each.inlet_steps if upper < limit}
    return [*sorted(steps), limit] if season.quiet else [limit]


def climates(code: Encoding, season: Season) -> dict[tuple[Names, float], Literal]:
    """Collect a literal for each room variant and inlet temperature, one of which holds in a season."""
    known: dict[str, dict[tuple[Names, float], Literal]] = code.__dict__.setdefault("climates", {})
    if season.name not in known:
        temps = inlets_c(code, season)
        known[season.name] = {
            (names, temp_c): code.literal() for names in code.sets(ROOM) for temp_c in temps
        }
        for names in code.sets(ROOM):
            those = [literal for (other, _), literal in known[season.name].items() if other == names]
            code.model.add(sum(those) == code.chosen[ROOM, names])
    return known[season.name]


def _heat(code: Encoding, season: Season) -> None:
    """Heat is no more than what leaves at the temperature that the season is said to stay under."""
    site, ratio = code.site, air.density_ratio(code.site.room.altitude_m)
    warmth = sum(round(WATT * watts) * literal for watts, literal in _machine_w(code))
    for gear in site.gear:
        for names in code.sets(gear.name):
            away = any(effect.elsewhere for effect in _effects(code, names))
            watts = 0.0 if away else max(0.0, _one_gear_w(code, gear, names) - gear.leaves_room_w)
            warmth += round(WATT * watts) * code.chosen[gear.name, names]
    for name, watts, literal in _cooling_w(code, season):
        warmth += round(WATT * watts * site.cooling_option[name].heats_room) * literal
    for (names, temp_c), holds in climates(code, season).items():
        effects = [m.room_effect for m in site.measures if m.name in names and m.room_effect is not None]
        ua_w_k = site.room.ua_w_k + sum(effect.ua_delta_w_k for effect in effects)
        leak = max(0.0, site.room.leak_m3_s + sum(effect.leak_delta_m3_s for effect in effects))
        out_w = (ua_w_k + heat.AIR_J_M3_K * ratio * leak) * (temp_c - season.surroundings_c)
        total: Sum = round(WATT * out_w) + 100
        for option in site.cooling:
            runs = code.runs(option.name, season)
            if runs is not None:
                removal = option.removal[season.name]
                taken_w = heat.AIR_J_M3_K * ratio * removal.flow_m3_s * (temp_c - removal.supply_c)
                chills = option.setpoint_c is None or option.setpoint_c <= temp_c
                total += round(WATT * (taken_w + (removal.capacity_w if chills else 0.0))) * runs
        code.model.add(warmth <= total).only_enforce_if(holds)


def hold_sound(code: Encoding, over_db: float) -> None:
    """Keep every listener at most so many dB over its target (over 0 dBA where nobody has one)."""
    site = code.site
    targeted = [item for item in site.listeners if item.target_dba is not None]
    for season in site.seasons:
        if not season.quiet and any(other.quiet for other in site.seasons):
            continue
        for (names, temp_c), holds in climates(code, season).items():
            for listener in targeted or site.listeners:
                asked = sound.energy((listener.target_dba or 0.0) + over_db + LEVEL_DB)
                terms = _voices(code, season, listener, names, temp_c)
                total = sum(_counted(e / asked) * literal for e, literal in terms)
                code.model.add(total <= SOUND).only_enforce_if(holds)


def _counted(share: float) -> int:
    return min(math.floor(SOUND * share), SOUND + 1)


def _voices(
    code: Encoding, season: Season, listener: Listener, room: Names, temp_c: float
) -> Iterator[tuple[float, Literal]]:
    site, path = code.site, transfer_db(code.site, listener, room)

    def heard(source: Sound | None) -> tuple[float, float]:
        if source is None:
            return 0.0, 0.0
        factor = inlet_factor(source, temp_c)
        return heard_energy(source.idle_db, path) * factor, heard_energy(source.loaded_db, path) * factor

    for unit in code.units:
        here = [(name, lit) for (name, other), lit in code.place.items() if other == unit]
        for names in code.unit_sets(unit):
            idle, loaded = heard(quieted(site, unit.name, unit.spec.sound, names))
            target = unit.ref if unit.is_box else ROOM
            bound = [(code.on[unit], idle)]
            bound += [(lit, (loaded - idle) * _share(code, unit, name)) for name, lit in here]
            for literal, energy in bound:
                yield energy, code.with_set(literal, target, names) if unit.is_box else literal
    for gear in site.gear:
        for names in code.sets(gear.name):
            yield heard(quieted(site, gear.name, gear.sound, names))[0], code.chosen[gear.name, names]
    for option in site.cooling:
        runs = code.runs(option.name, season)
        for names in code.sets(option.name) if runs is not None else ():
            loaded = heard(quieted(site, option.name, option.sound, names))[1]
            yield loaded, code.with_set(runs, option.name, names)
