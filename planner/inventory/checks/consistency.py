"""Finds contradictions between the parts of a file; each stands where the person can mend it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations

from planner.domain.measures import ROOM
from planner.inventory.defaults.roles import PHYSICAL_BY_ROLE
from planner.inventory.models.root import InventoryModel
from planner.inventory.models.windows import WEEKDAYS
from planner.inventory.text.errors import Path, Problem, show
from planner.inventory.text.yaml_tree import Tree
from planner.physics.power import HOURS_PER_YEAR

WEEK_H = 168.0
SHARED_SECTIONS = ("boxes", "gear", "cooling", "catalogue", "measures")
"""Sections whose names share one space, because measures, requirements and plans point at them by name."""


def check_model(model: InventoryModel, tree: Tree) -> list[Problem]:
    """List the contradictions in a file; mistakes of form may have been taken out of the model."""
    checks = (
        _names,
        _circuits,
        _hours,
        _groups,
        _together,
        _stay_on,
        _needs,
        _order,
        _links,
        _taken_out,
        _windows,
    )
    findings = [finding for check in checks for finding in check(model)]
    return [tree.problem(*finding) for finding in (*findings, *_runs(model, tree))]


Finding = tuple[Path, str, str]


def _names(model: InventoryModel) -> Iterator[Finding]:
    seen: dict[str, str] = {ROOM: "the room itself"}
    for section in SHARED_SECTIONS:
        for name in getattr(model, section):
            if name in seen:
                yield (section, name), f"the name {show(name)} is taken by {seen[name]}.", "Give it another."
            else:
                seen[name] = section


def _circuits(model: InventoryModel) -> Iterator[Finding]:
    names = list(model.supply.circuits)
    if len(names) < 2:
        return
    choose = f"Write 'circuit:' with one of {', '.join(show(name) for name in names)}."
    owners = (("boxes", model.boxes), ("gear", model.gear), ("cooling", model.cooling))
    for section, items in owners:
        for name, item in items.items():
            if item.circuit is None:
                yield (section, name), "there are several circuits; on which does it hang?", choose


def _hours(model: InventoryModel) -> Iterator[Finding]:
    if model.seasons:
        hours = sum(season.hours for season in model.seasons.values())
        if abs(hours - HOURS_PER_YEAR) > 0.5:
            yield ("seasons",), f"the hours add up to {hours:g}.", f"A year has {HOURS_PER_YEAR:g}."


def _runs(model: InventoryModel, tree: Tree) -> Iterator[Finding]:
    """Find cooling that runs today in a season in which it cannot."""
    for name, option in model.cooling.items():
        path = ("cooling", name)
        for season in option.runs_today:
            # What stands in the file counts: a mistake in the air of a season is told there.
            shut = option.works_in is not None and season not in option.works_in
            if option.air is not None and (*path, "air", season) not in tree.places:
                words = f"it runs today in {show(season)}, but brings no air then."
                yield (
                    (*path, "runs_today"),
                    words,
                    f"Write its air of {show(season)}, or take the season out.",
                )
            elif shut and option.air is None:
                words = f"it runs today in {show(season)}, but works_in leaves that season out."
                yield (*path, "runs_today"), words, "Add the season to works_in, or take it out here."


def _groups(model: InventoryModel) -> Iterator[Finding]:
    rules = model.rules
    groups = {
        "together": [rule.services for rule in rules.together],
        "apart": [rule.services for rule in rules.apart],
        "quorum": [rule.services for rule in rules.quorum],
    }
    for word, lists in groups.items():
        for index, names in enumerate(lists):
            twice = {name for name in names if names.count(name) > 1}
            if twice:
                yield (
                    ("rules", word, index, "services"),
                    f"{_list(twice)} stands here twice.",
                    "Name each once.",
                )


def _clusters(model: InventoryModel) -> list[frozenset[str]]:
    """Join the groups that share a machine wherever they overlap."""
    clusters: list[frozenset[str]] = []
    for rule in model.rules.together:
        joined = frozenset(rule.services)
        for cluster in [each for each in clusters if each & joined]:
            clusters.remove(cluster)
            joined |= cluster
        clusters.append(joined)
    return clusters


def _together(model: InventoryModel) -> Iterator[Finding]:
    for cluster in _clusters(model):
        for index, rule in enumerate(model.rules.apart):
            both = cluster & set(rule.services)
            if len(both) > 1:
                words = f"{_list(both)} are kept apart here and together by another rule."
                yield ("rules", "apart", index), words, "Take one of the two rules away."
        boxes = {name: model.services[name].stay_on for name in sorted(cluster & set(model.services))}
        for (first, here), (second, there) in combinations(boxes.items(), 2):
            if here and there and here != there:
                words = (
                    f"{show(second)} must share a machine with {show(first)}, which stays on {show(here)}."
                )
                yield ("services", second, "stay_on"), words, "Change the rule or one stay_on."


def is_physical(model: InventoryModel, name: str) -> bool:
    """Say whether a service must not be virtual, by its own word or by its roles."""
    service = model.services[name]
    by_role = any(role in PHYSICAL_BY_ROLE for role in service.roles)
    return isinstance(service.stay_physical, str) or (by_role and service.stay_physical is not False)


def _stay_on(model: InventoryModel) -> Iterator[Finding]:
    for name, service in model.services.items():
        box = model.boxes.get(service.stay_on) if service.stay_on else None
        if service.stay_on is None or box is None:
            continue
        path = ("services", name, "stay_on")
        if service.stay_on != service.box:
            words = f"it must stay on {show(service.stay_on)}, but runs on {show(service.box)}."
            yield path, words, "Correct one of the two."
        if box.hosts and is_physical(model, name):
            words = f"it must stay physical, but {show(service.stay_on)} carries virtual machines."
            yield path, words, "Take stay_on away, or write 'stay_physical: no'."


def _needs(model: InventoryModel) -> Iterator[Finding]:
    for name, service in model.services.items():
        box = model.boxes.get(service.box)
        lacking = set(service.needs) - set(box.offers) if box else set()
        if lacking:
            words = f"it needs {_list(lacking)}, which its box {show(service.box)} does not offer."
            yield ("services", name, "needs"), words, f"Add it to 'offers:' of {show(service.box)}."


def _order(model: InventoryModel) -> Iterator[Finding]:
    for name, service in model.services.items():
        if name in service.depends_on:
            yield ("services", name, "depends_on"), "it depends on itself.", "Take the name out."


def _links(model: InventoryModel) -> Iterator[Finding]:
    for section, items in (("measures", model.measures), ("cooling", model.cooling)):
        for name, item in items.items():
            both = set(item.requires) & set(item.excludes)
            if both:
                yield (section, name), f"{_list(both)} is required and excluded.", "Keep one of the two."
            if name in item.requires or name in item.excludes:
                yield (section, name), "it requires or excludes itself.", "Take its own name out."


def _taken_out(model: InventoryModel) -> Iterator[Finding]:
    """Measures that would take away what does the work: only gear leaves the room by a measure."""
    for name, item in model.measures.items():
        path, target = ("measures", name, "target"), show(item.target)
        if item.takes_out and item.target in model.boxes:
            words = f"{target} is a box, and only gear is taken out by a measure."
            repair = f"Take the measure out; a plan switches {target} off once nothing runs there."
            yield path, words, repair
        elif item.takes_out and item.target in model.cooling:
            words = f"{target} is a cooling option, and only gear is taken out by a measure."
            repair = f"Take the measure out; a plan runs {target} only where it is needed."
            yield path, words, repair


def _windows(model: InventoryModel) -> Iterator[Finding]:
    """Windows of a week that run into each other, round the end of the week too."""
    weekly = model.windows.weekly
    starts = {
        index: 24.0 * item.weekday + item.start.hour + item.start.minute / 60.0
        for index, item in enumerate(weekly)
    }
    order = sorted(starts, key=lambda index: starts[index])
    for index, later in zip(order, [*order[1:], *order[:1]], strict=True):
        gap_h = (starts[later] - starts[index]) % WEEK_H if index != later else WEEK_H
        if gap_h < weekly[index].hours:
            words = f"it begins before the one of {WEEKDAYS[weekly[index].weekday]} is over."
            yield ("windows", "weekly", later), words, "Join the two, or make that one shorter."


def _list(names: Iterable[str]) -> str:
    return " and ".join(show(name) for name in sorted(names))
