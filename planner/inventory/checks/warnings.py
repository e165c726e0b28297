"""Finds what a file may say but is worth a look: overridden habits, loops, and todays that break a rule."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter

from planner.domain.resources import INSTALLED, RESOURCES, Demand
from planner.domain.site import Site
from planner.inventory.checks.consistency import Finding, is_physical
from planner.inventory.checks.plausibility import find_implausible
from planner.inventory.defaults.roles import PHYSICAL_BY_ROLE
from planner.inventory.models.root import InventoryModel
from planner.inventory.resolve.calibration import MOST_OFFSET_DB, foretold_dba
from planner.inventory.resolve.fans import fan_change
from planner.inventory.resolve.measures import least_draws_w
from planner.inventory.resolve.services import directories, quorum_waived
from planner.inventory.text.errors import Problem, show
from planner.inventory.text.yaml_tree import Tree
from planner.physics.room import PREDICTION_PM_DB

MOST_LOOPS = 10


def find_doubts(model: InventoryModel, site: Site, tree: Tree) -> tuple[Problem, ...]:
    """List the warnings about a file that was resolved."""
    findings = (
        *_overrides(model),
        *_loops(model),
        *_guests(model),
        *_apart_today(site),
        *_overloads(site),
        *_gaps(model),
        *_readings(model, site),
        *_warm_air(site),
        *_fans(model),
        *_savings(site),
        *_tightenings(site),
        *find_implausible(model, site),
    )
    return tuple(tree.problem(*finding) for finding in findings)


def _overrides(model: InventoryModel) -> Iterator[Finding]:
    for name, service in model.services.items():
        reasons = [PHYSICAL_BY_ROLE[role] for role in service.roles if role in PHYSICAL_BY_ROLE]
        if service.stay_physical is False and reasons:
            yield ("services", name, "stay_physical"), f"against trade habit: {reasons[0]}.", ""
    if quorum_waived(model.services):
        name = directories(model.services)[0]
        words = "no directory server stays physical, against trade habit."
        yield ("services", name, "stay_physical"), words, "Mind how the hosts start without one."


def _loops(model: InventoryModel) -> Iterator[Finding]:
    edges = {name: set(service.depends_on) for name, service in model.services.items()}
    for _ in range(MOST_LOOPS):
        try:
            TopologicalSorter(edges).prepare()
        except CycleError as error:
            loop: list[str] = list(reversed(error.args[1]))
            edges[loop[0]].discard(loop[1])
            words = f"these depend on each other in a loop: {' -> '.join(show(name) for name in loop)}."
            yield (
                ("services", loop[0], "depends_on"),
                words,
                "They move together, or one link must be broken.",
            )
        else:
            return


def _guests(model: InventoryModel) -> Iterator[Finding]:
    for name, service in model.services.items():
        if model.boxes[service.box].hosts and is_physical(model, name):
            words = f"it is to stay physical, but its box {show(service.box)} carries virtual machines today."
            yield ("services", name), words, "A plan will move it out; write 'stay_physical: no' to keep it."


def _apart_today(site: Site) -> Iterator[Finding]:
    for rule in site.apart:
        by_box = defaultdict(list)
        for name in sorted(rule.services):
            by_box[site.service[name].box].append(name)
        for box, names in by_box.items():
            if len(names) > 1:
                words = f"it shares {show(box)} with {show(names[0])} today: {show(rule.because)}."
                yield ("services", names[1], "box"), words, ""


def _overloads(site: Site) -> Iterator[Finding]:
    demands = defaultdict(list)
    for service in site.services:
        demands[service.box].append(service.demand)
    for box in site.boxes:
        for resource in INSTALLED:
            used = max(_used(demands[box.name], resource, site.slots))
            limit: float = getattr(box.spec, resource)
            if used > limit * 1.001:
                amount = RESOURCES[resource].amount
                words = f"its services take {used:.6g} {amount}, but it has {limit:.6g}."
                yield ("boxes", box.name), words, "One of the figures is wrong, or it is overloaded today."


def _used(demands: list[Demand], resource: str, slots: int) -> list[float]:
    """Find what demands come to, hour by hour; once where no hour differs."""
    values = [getattr(demand, resource) for demand in demands]
    steady = sum(value[0] for value in values if len(value) == 1)
    varied = [value for value in values if len(value) > 1]
    return [steady + sum(value[slot] for value in varied) for slot in range(slots if varied else 1)]


def _gaps(model: InventoryModel) -> Iterator[Finding]:
    if not model.catalogue:
        yield (
            (),
            "there is no catalogue, so nothing can be bought.",
            "Add 'catalogue:' with machines to choose.",
        )
    if not model.cooling:
        yield (), "there is no cooling, so the heat leaves by walls and gaps alone.", ""
    if all(listener.target_dba is None for listener in model.listeners.values()):
        yield ("listeners",), "no listener has a target.", "The loudest is made as quiet as can be."


def _readings(model: InventoryModel, site: Site) -> Iterator[Finding]:
    for listener in site.listeners:
        reading = model.readings.get(listener.name)
        foretold = foretold_dba(site, listener)
        if reading is None or listener.reading_dba is None or foretold is None:
            continue
        apart_db = listener.reading_dba - foretold + listener.offset_db
        if abs(apart_db) > MOST_OFFSET_DB + 1e-6:
            words = f"the meter shows {apart_db:+.0f} dB against what is foretold."
            repair = f"Only {MOST_OFFSET_DB:g} dB are taken: look for a source or a gap that is missing."
            yield ("readings", listener.name), words, repair
        elif abs(apart_db) > PREDICTION_PM_DB:
            words = f"the meter shows {apart_db:+.0f} dB against what is foretold, taken as it is."
            yield ("readings", listener.name), words, "Rooms can be foretold to about 5 dB."


def _warm_air(site: Site) -> Iterator[Finding]:
    """Find air that heats the room: in winter the building must not."""
    for option in site.cooling:
        for season in site.seasons:
            removal = option.removal.get(season.name)
            if removal is None or removal.flow_m3_s == 0.0:
                continue
            path = ("cooling", option.name, "air", season.name)
            if removal.supply_c >= site.policy.inlet_limit_c:
                words = f"air of {removal.supply_c:g} °C heats a room that is to stay at or under "
                yield path, f"{words}{site.policy.inlet_limit_c:g} °C.", "Shut the supply, keep the exhaust."
            elif removal.supply_c > season.surroundings_c:
                words = f"its air of {removal.supply_c:g} °C is warmer than the {season.surroundings_c:g} °C "
                repair = "If the building heats it, shut the supply damper and keep the exhaust."
                yield path, f"{words}around the room.", repair


def _fans(model: InventoryModel) -> Iterator[Finding]:
    """Find changes of fans that may stall, starve or do nothing."""
    for name, measure in model.measures.items():
        for words in fan_change(measure.fans).doubts if measure.fans is not None else ():
            yield ("measures", name, "fans"), words, ""


def _savings(site: Site) -> Iterator[Finding]:
    """Find measures that would save more than their target draws."""
    draws_w = least_draws_w(site)
    for measure in site.measures:
        saved_w = -measure.source_effect.power_delta_w if measure.source_effect is not None else 0.0
        least_w = draws_w.get(measure.target, 0.0)
        if saved_w > least_w:
            words = f"it saves {saved_w:.4g} W, but {show(measure.target)} draws {least_w:.4g} W when idle."
            yield ("measures", measure.name, "power"), words, f"No more than {least_w:.4g} W are taken off."


def _tightenings(site: Site) -> Iterator[Finding]:
    """Find measures that would take more heat loss or leak from the room than it has."""
    room = site.room
    for measure in site.measures:
        if measure.room_effect is None:
            continue
        less_w_k, less_m3_s = -measure.room_effect.ua_delta_w_k, -measure.room_effect.leak_delta_m3_s
        path = ("measures", measure.name)
        if less_w_k > room.ua_w_k:
            words = f"it takes {less_w_k:.4g} W/K off, but the room passes {room.ua_w_k:.4g} W/K."
            yield (*path, "heat_loss"), words, "The room is taken to pass none then."
        if less_m3_s > room.leak_m3_s:
            now, less = room.leak_m3_s * 3600.0, less_m3_s * 3600.0
            words = f"it takes {less:.4g} m3/h off, but the room leaks {now:.4g} m3/h."
            yield (*path, "leak"), words, "The room is taken to leak nothing then."
