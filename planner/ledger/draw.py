"""Watts: what each thing draws at the wall, and how much of it heats the room."""

from __future__ import annotations

import math
from collections.abc import Iterable

from planner.domain.air import Cooling
from planner.domain.machines import Gear, Role
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.ledger.effects import power_change_w, source_effects
from planner.physics import power


def utilisation(site: Site, machine: Machine) -> float:
    """Compute a machine's mean CPU utilisation, 0 to 1, with the host's own share where it is one."""
    used = math.fsum(site.service[name].demand.mean_cpu for name in machine.services)
    return min(1.0, used * cpu_factor(site, machine.role) / machine.spec(site).cpu)


def cpu_factor(site: Site, role: Role) -> float:
    """Compute the factor on a service's CPU use on a machine of a role (a host adds its own share)."""
    return 1.0 + site.policy.host_cpu_share if role is Role.HOST else 1.0


def wall_factor(site: Site, on_ups: bool) -> float:
    """Compute watts at the wall for a watt drawn: more than one behind a UPS."""
    return 1.0 / site.supply.ups_efficiency if on_ups else 1.0


def machine_w(site: Site, machine: Machine, measures: Iterable[str]) -> float:
    """Compute a machine's mean draw at the wall, W, with what its measures change."""
    spec = machine.spec(site)
    drawn = power.power_w(spec.idle_w, spec.peak_w, utilisation(site, machine))
    drawn += power_change_w(site, machine.name, spec.idle_w, measures)
    return drawn * wall_factor(site, machine.on_ups(site))


def machine_peak_w(site: Site, machine: Machine, measures: Iterable[str]) -> float:
    """Compute a machine's greatest draw at the wall, W: what its circuit must carry."""
    spec = machine.spec(site)
    drawn = spec.peak_w + power_change_w(site, machine.name, spec.idle_w, measures)
    return drawn * wall_factor(site, machine.on_ups(site))


def gear_w(site: Site, gear: Gear, measures: Iterable[str]) -> float:
    """Compute the draw of a piece of gear at the wall, W."""
    drawn = gear.power_w + power_change_w(site, gear.name, gear.power_w, measures)
    return max(0.0, drawn) * wall_factor(site, gear.on_ups)


def gear_heat_w(site: Site, gear: Gear, measures: Iterable[str]) -> float:
    """Compute how much of a piece of gear's draw heats the room: not what goes out over cables.

    Gear that works in another room heats that one.
    """
    if any(effect.elsewhere for effect in source_effects(site, gear.name, measures)):
        return 0.0
    drawn = gear_w(site, gear, measures)
    return max(0.0, drawn - gear.leaves_room_w) if drawn > 0.0 else 0.0


def cooling_w(site: Site, option: Cooling, measures: Iterable[str]) -> float:
    """Compute the draw of a running cooling option, W."""
    return max(0.0, option.power_w + power_change_w(site, option.name, option.power_w, measures))


def circuit_loads_w(site: Site, state: State) -> dict[str, float]:
    """Compute each circuit's greatest continuous load, W: machines at their peak, any season's cooling."""
    loads: dict[str, list[float]] = {circuit.name: [] for circuit in site.supply.circuits}
    for machine in state.machines:
        loads[machine.circuit].append(machine_peak_w(site, machine, state.measures))
    for gear in site.gear:
        loads[gear.circuit].append(gear_w(site, gear, state.measures))
    ever = frozenset().union(*state.cooling.values()) if state.cooling else frozenset()
    for option in site.cooling:
        if option.name in ever:
            loads[option.circuit].append(cooling_w(site, option, state.measures))
    return {name: math.fsum(parts) for name, parts in loads.items()}


def circuit_starts_w(site: Site, state: State) -> dict[str, float]:
    """Compute each circuit's draw, W, while its greatest machine starts and all else is at its peak.

    Machines start one after the other; a start lasts seconds, so that the breaker's rating counts and not
    what it may carry for hours. How much more a start draws is assumed (``power.START_SHARE``).
    """
    loads = circuit_loads_w(site, state)
    most = dict.fromkeys(loads, 0.0)
    for machine in state.machines:
        more_w = (power.START_SHARE - 1.0) * machine_peak_w(site, machine, state.measures)
        most[machine.circuit] = max(most[machine.circuit], more_w)
    return {name: load + most[name] for name, load in loads.items()}
