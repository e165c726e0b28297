"""Tasks for the peers, from a packing instance or from a site; the site's cooling is that of a known plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

from planner import capacity, eligibility
from planner.domain.air import Season
from planner.domain.machines import Role, Spec
from planner.domain.resources import RESOURCES
from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State
from planner.ledger import climate, draw
from planner.ledger.hearing import heard_energy, transfer_db
from planner.physics import sound
from tests.benchmarks.peers.task import Filling, Make, Row, Task

Group = tuple[str, ...]


def task_of(instance: Mapping[str, Any]) -> Task:
    """Make a packing instance as a task; written from its form, not from the site that is made of it."""
    copies = [
        (number, tuple(float(figure) for figure in item["size"]))
        for number, item in enumerate(instance["items"])
        for _ in range(item.get("count", 1))
    ]
    by_number: dict[int, list[int]] = {}
    for index, (number, _) in enumerate(copies):
        by_number.setdefault(number, []).append(index)
    makes = [_bin(number, bin_, [size for _, size in copies]) for number, bin_ in enumerate(instance["bins"])]
    conflicts = frozenset(
        (min(one, other), max(one, other))
        for left, right in instance.get("conflicts", ())
        for one in by_number[left]
        for other in by_number[right]
        if one != other
    )
    return Task(str(instance.get("name", "")), len(copies), tuple(makes), conflicts)


def _bin(number: int, bin_: Mapping[str, Any], sizes: list[tuple[float, ...]]) -> Make:
    capacity = tuple(float(figure) for figure in bin_["cap"])
    fitting = {
        index: size
        for index, size in enumerate(sizes)
        if all(figure <= most for figure, most in zip(size, capacity, strict=True))
    }
    units = int(bin_.get("available") or len(sizes))
    return Make(f"bin-{number}", capacity, float(bin_["cost"]), units, fitting)


def task_of_site(site: Site, cooling: Mapping[str, frozenset[str]], over_db: float) -> Task:
    """Make the least mean watts of a site as a task, its sound held at ``over_db`` over the targets.

    The cooling is given: its watts, sound and capacity are constants. ValueError for a site with measures,
    circuits to choose from or spare hosts, which the peers' models do not know.
    """
    if site.measures or len(site.supply.circuits) > 1 or site.policy.spare_hosts:
        raise ValueError(f"{site.name}: measures, several circuits or spare hosts, which no peer here models")
    groups = list(eligibility.groups(site))
    candidates = list(_candidates(site))
    makes = tuple(_make(site, groups, candidate, zone) for candidate, zone in candidates)
    place = {name: index for index, group in enumerate(groups) for name in group}
    conflicts = frozenset(
        (min(place[one], place[other]), max(place[one], place[other]))
        for rule in site.apart
        for one, other in combinations(sorted(rule.services), 2)
    )
    specs = [candidate.spec(site) for candidate, _ in candidates]
    rows = [
        _sound_row(site, makes, specs, season, place_, cooling, over_db) for season, place_ in _heard(site)
    ]
    rows += [_heat_row(site, makes, season, cooling) for season in site.seasons]
    rows += _one_role_each(site, [candidate for candidate, _ in candidates])
    constant = math.fsum(draw.gear_w(site, gear, ()) for gear in site.gear) + _cooling_w(site, cooling)
    return Task(site.name, len(groups), makes, conflicts, tuple(rows), constant)


def filling_of(site: Site, state: State) -> Filling:
    """Find what a state's machines carry, in the numbers of the task of the site."""
    place = {name: index for index, group in enumerate(eligibility.groups(site)) for name in group}
    numbers = {
        (candidate.ref, candidate.role, zone): index
        for index, (candidate, zone) in enumerate(_candidates(site))
    }
    found = []
    first = {name: twins[0] for twins in _twins(site) for name in twins}
    for machine in state.machines:
        zones = {site.service[name].zone for name in machine.services}
        ref = machine.box or machine.kind or ""
        if _is_reused(site, eligibility.Candidate(ref, "box" if machine.box else "kind", machine.role)):
            ref = first[ref]
        key = (ref, machine.role, min(zones) if (ref, machine.role, None) not in numbers else None)
        found.append((numbers[key], tuple(sorted({place[name] for name in machine.services}))))
    return found


def _candidates(site: Site) -> Iterator[tuple[eligibility.Candidate, str | None]]:
    """List every make there may be; hosts to buy of one zone once for each zone, re-used boxes alike once."""
    zones = sorted({service.zone for service in site.services})
    firsts = {twins[0] for twins in _twins(site)}
    for candidate in eligibility.candidates(site):
        if _is_reused(site, candidate) and candidate.ref not in firsts:
            continue
        several = candidate.sort == "kind" and candidate.role is Role.HOST and candidate.spec(site).zones == 1
        yield from ((candidate, zone) for zone in (zones if several else (None,)))


def _is_reused(site: Site, candidate: eligibility.Candidate) -> bool:
    is_host = candidate.sort == "box" and candidate.role is Role.HOST
    return is_host and not site.box[candidate.ref].hosts_today


def _twins(site: Site) -> list[tuple[str, ...]]:
    """List the boxes that may be re-used, those that nothing here tells apart together."""
    bound = {service.stay_on for service in site.services}
    found: dict[tuple[object, ...], list[str]] = {}
    for box in site.boxes:
        if box.may_host and not box.hosts_today:
            own = box.name if box.name in bound or box.stays is not None else ""
            found.setdefault((box.spec, box.on_ups, own), []).append(box.name)
    return [tuple(names) for names in found.values()]


def _one_role_each(site: Site, candidates: list[eligibility.Candidate]) -> Iterator[Row]:
    """List the limits on boxes that are hosts or as they are: no more than there are, both together."""
    none: tuple[Mapping[int, float], ...] = tuple({} for _ in candidates)
    for twins in _twins(site):
        here = tuple(float(each.sort == "box" and each.ref in twins) for each in candidates)
        yield Row(f"one role for each like {twins[0]}", here, none, float(len(twins)))


def _make(site: Site, groups: list[Group], candidate: eligibility.Candidate, zone: str | None) -> Make:
    """Make a candidate as a make: what a host takes for itself is off its capacity."""
    spec = candidate.spec(site)
    usable = tuple(
        capacity.usable(site, spec, candidate.role, resource)
        for resource in RESOURCES
        for _ in range(site.slots)
    )
    fitting = [
        (index, group)
        for index, group in enumerate(groups)
        if (zone is None or all(site.service[name].zone == zone for name in group))
        and eligibility.obstacle(site, group, candidate) is None
    ]
    box = candidate.sort == "box"
    wall = draw.wall_factor(site, site.box[candidate.ref].on_ups if box else site.kind[candidate.ref].on_ups)
    span = (spec.peak_w - spec.idle_w) * wall * draw.cpu_factor(site, candidate.role) / spec.cpu
    return Make(
        name=candidate.ref if zone is None else f"{candidate.ref}/{zone}",
        capacity=usable,
        fixed=spec.idle_w * wall,
        units=_units(site, candidate, len(groups)),
        sizes={index: _taken(site, group, candidate) for index, group in fitting},
        each={index: span * _mean_cpu(site, group) for index, group in fitting},
        single=candidate.role in (Role.APPLIANCE, Role.TOWER),
        clashes=_zone_clashes(site, fitting, spec) if zone is None else frozenset(),
    )


def _units(site: Site, candidate: eligibility.Candidate, groups: int) -> int:
    if candidate.sort == "kind":
        return min(site.kind[candidate.ref].max_units, groups)
    if not _is_reused(site, candidate):
        return 1
    return next(len(twins) for twins in _twins(site) if candidate.ref in twins)


def _zone_clashes(site: Site, fitting: list[tuple[int, Group]], spec: Spec) -> frozenset[tuple[int, int]]:
    """List the pairs of groups of two zones, which must not share a machine of one zone."""
    zone = {index: site.service[group[0]].zone for index, group in fitting}
    if spec.zones == 1:
        return frozenset(
            (one, other) for one, other in combinations(sorted(zone), 2) if zone[one] != zone[other]
        )
    if spec.zones < len(set(zone.values())):
        raise ValueError(f"{site.name}: machines of more than one zone, but not of all, which no peer models")
    return frozenset()


def _taken(site: Site, group: Group, candidate: eligibility.Candidate) -> tuple[float, ...]:
    on_host, policy = candidate.role is Role.HOST, site.policy
    found = []
    for resource in RESOURCES:
        factor = 1.0 + policy.host_cpu_share if on_host and resource == "cpu" else 1.0
        each = policy.guest_memory_gib if on_host and resource == "memory_gib" else 0.0
        for hour in range(site.slots):
            demands = [site.service[name].demand.at(resource, hour) for name in group]
            found.append(math.fsum(demand * factor + each for demand in demands))
    return tuple(found)


def _mean_cpu(site: Site, group: Group) -> float:
    return math.fsum(site.service[name].demand.mean_cpu for name in group)


def _heard(site: Site) -> list[tuple[Season, Listener]]:
    listeners = [listener for listener in site.listeners if listener.target_dba is not None]
    return [(season, listener) for season in site.seasons if season.quiet for listener in listeners]


def _sound_row(
    site: Site,
    makes: tuple[Make, ...],
    specs: list[Spec],
    season: Season,
    listener: Listener,
    cooling: Mapping[str, frozenset[str]],
    over_db: float,
) -> Row:
    """Make the limit on sound at a listener, in shares of the energy that is allowed there."""
    path, asked = transfer_db(site, listener, ()), sound.energy((listener.target_dba or 0.0) + over_db)
    taken = math.fsum(heard_energy(gear.sound.idle_db, path) for gear in site.gear)
    for option in site.cooling:
        if option.name in cooling[season.name]:
            taken += heard_energy(option.sound.loaded_db, path)
    fixed, each = [], []
    for make, spec in zip(makes, specs, strict=True):
        idle = heard_energy(spec.sound.idle_db, path) / asked
        loaded = heard_energy(spec.sound.loaded_db, path) / asked
        watts = spec.peak_w - spec.idle_w
        fixed.append(idle)
        each.append({item: (loaded - idle) * share / watts for item, share in make.each.items() if watts})
    return Row(f"sound {listener.name} {season.name}", tuple(fixed), tuple(each), 1.0 - taken / asked)


def _heat_row(
    site: Site, makes: tuple[Make, ...], season: Season, cooling: Mapping[str, frozenset[str]]
) -> Row:
    """Make the limit on heat in a season, W."""
    limit_c = site.policy.inlet_limit_c
    there = climate.room_capacity_w(site, season, (), limit_c)
    for option in site.cooling:
        if option.name in cooling[season.name]:
            there += climate.option_capacity_w(site, season, option, limit_c)
            there -= draw.cooling_w(site, option, ()) * option.heats_room
    there -= math.fsum(draw.gear_heat_w(site, gear, ()) for gear in site.gear)
    return Row(
        f"heat {season.name}", tuple(make.fixed for make in makes), tuple(make.each for make in makes), there
    )


def _cooling_w(site: Site, cooling: Mapping[str, frozenset[str]]) -> float:
    hours = math.fsum(season.hours for season in site.seasons)
    return math.fsum(
        draw.cooling_w(site, option, ()) * option.duty * season.hours / hours
        for season in site.seasons
        for option in site.cooling
        if option.name in cooling[season.name]
    )
