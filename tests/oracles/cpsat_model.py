"""A site as a constraint programme, from the site alone: what may be where, and what goes with what."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain, combinations, pairwise
from typing import Any

from ortools.sat.python import cp_model

from planner.domain.air import Season
from planner.domain.machines import Role, Spec
from planner.domain.measures import ROOM
from planner.domain.resources import RESOURCES
from planner.domain.services import Service
from planner.domain.site import Site
from tests.oracles.cpsat_spare import add_spare

CAPACITY_SCALE = 1_000
"""Demands and capacities are counted in thousandths: halves times tenths stay whole."""

Names = frozenset[str]
Literal = Any
"""A variable of the constraint solver; it comes without types."""


@dataclass(frozen=True)
class Unit:
    """A machine that may be on: a box in one role, or one unit of a kind."""

    name: str
    ref: str
    is_box: bool
    role: Role
    spec: Spec
    on_ups: bool


class Encoding:
    """Literals and rules. A target's measures are one choice among the sets that go together."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.model = cp_model.CpModel()
        self.units = _units(site)
        self.on = {unit: self.literal() for unit in self.units}
        self.place = {
            (service.name, unit): self.literal()
            for service in site.services
            for unit in self.units
            if _may_run(service, unit)
        }
        self.plug = {(u, c): self.literal() for u in self.units if not u.is_box for c in site.circuit}
        self.run = {
            (option.name, season.name): self.literal()
            for option in site.cooling
            for season in site.seasons
            if season.name in option.removal
        }
        self.have = {option.name: self.literal() for option in site.cooling}
        self.take = {item.name: self.literal() for item in site.measures if item.allowed}
        targets = (ROOM, *site.box, *(gear.name for gear in site.gear), *site.cooling_option)
        self.chosen = {(t, names): self.literal() for t in targets for names in self.sets(t)}
        self._both: dict[tuple[int, int], Literal] = {}
        _add_placement(self)
        _add_machines(self)
        _add_measures(self)
        _add_cooling(self)
        add_spare(self)

    def literal(self) -> Literal:
        """Add a literal."""
        return self.model.new_bool_var("")

    def sets(self, target: str) -> list[Names]:
        """List the sets of measures that may be taken together on a target."""
        return _measure_sets(self.site, target)

    def both(self, left: Literal, right: Literal) -> Literal:
        """Make the literal that holds when both do."""
        key = (left.index, right.index)
        if key not in self._both:
            self._both[key] = found = self.literal()
            self.model.add_bool_and(left, right).only_enforce_if(found)
            self.model.add_bool_or(found, left.negated(), right.negated())
        return self._both[key]

    def with_set(self, literal: Literal, target: str, names: Names) -> Literal:
        """Make the literal for something that is so while a set of measures is chosen on a target."""
        return literal if len(self.sets(target)) == 1 else self.both(literal, self.chosen[target, names])

    def unit_sets(self, unit: Unit) -> list[Names]:
        """List the sets of measures a machine may have; bought units take none."""
        return self.sets(unit.ref) if unit.is_box else [frozenset()]

    def runs(self, name: str, season: Season) -> Literal | None:
        """Look up the literal of a cooling option in a season, None where it cannot run."""
        return self.run.get((name, season.name))


def _units(site: Site) -> list[Unit]:
    found: list[Unit] = []
    for box in site.boxes:
        roles = [Role.HOST] if box.hosts_today else [Role.BARE, *([Role.HOST] if box.may_host else [])]
        found += [Unit(box.name, box.name, True, role, box.spec, box.on_ups) for role in roles]
    for kind in site.kinds:
        for number in range(kind.max_units):
            name = f"{kind.name}-{number + 1}"
            found.append(Unit(name, kind.name, False, kind.role, kind.spec, kind.on_ups))
    return found


def _may_run(service: Service, unit: Unit) -> bool:
    if unit.role is Role.BARE and service.box != unit.ref:
        return False
    if unit.role is Role.HOST and service.physical is not None:
        return False
    stays = service.stay_on is None or (unit.is_box and service.stay_on == unit.ref)
    return stays and service.needs <= unit.spec.offers


def _measure_sets(site: Site, target: str) -> list[Names]:
    free = [item for item in site.measures if item.target == target and item.allowed]
    subsets = chain.from_iterable(combinations(free, size) for size in range(len(free) + 1))
    found = []
    for subset in subsets:
        effects = [item.source_effect for item in subset if item.source_effect is not None]
        sounds = sum(effect.sound is not None for effect in effects)
        if sounds <= 1 and (len(subset) < 2 or not any(effect.takes_out for effect in effects)):
            found.append(frozenset(item.name for item in subset))
    return found


def _here(code: Encoding, unit: Unit) -> list[tuple[Service, Literal]]:
    pairs = [(service, code.place.get((service.name, unit))) for service in code.site.services]
    return [(service, literal) for service, literal in pairs if literal is not None]


def _add_placement(code: Encoding) -> None:
    site, model = code.site, code.model
    for service in site.services:
        model.add_exactly_one(lit for (name, _), lit in code.place.items() if name == service.name)
    for unit in code.units:
        here = {service.name: literal for service, literal in _here(code, unit)}
        for rule in site.together:
            present = [here.get(name) for name in sorted(rule.services)]
            for left, right in pairwise(present):
                model.add((0 if left is None else left) == (0 if right is None else right))
        for apart in site.apart:
            model.add_at_most_one(literal for name, literal in here.items() if name in apart.services)
    for quorum in site.quorums:
        outside = [
            literal
            for (name, unit), literal in code.place.items()
            if name in quorum.services and unit.role is not Role.HOST
        ]
        model.add(sum(outside) >= quorum.physical)


def _add_machines(code: Encoding) -> None:
    site, model = code.site, code.model
    for box in site.boxes:
        roles = [code.on[unit] for unit in code.units if unit.is_box and unit.ref == box.name]
        model.add(sum(roles) <= 1 if box.stays is None else sum(roles) == 1)
    for before, after in pairwise(code.units):
        if not before.is_box and before.ref == after.ref:
            model.add_implication(code.on[after], code.on[before])
    for unit in code.units:
        here = _here(code, unit)
        for _, literal in here:
            model.add_implication(literal, code.on[unit])
        if not unit.is_box or site.box[unit.ref].stays is None:
            model.add_bool_or(code.on[unit].negated(), *(literal for _, literal in here))
        if not unit.is_box:
            model.add(sum(code.plug[unit, name] for name in site.circuit) == code.on[unit])
        _zones(code, unit, here)
        _alone(code, unit, here)
        for resource in RESOURCES:
            _capacity(code, unit, here, resource)


def _zones(code: Encoding, unit: Unit, here: Iterable[tuple[Service, Literal]]) -> None:
    by_zone: dict[str, list[Literal]] = {}
    for service, literal in here:
        by_zone.setdefault(service.zone, []).append(literal)
    flags = []
    for literals in by_zone.values():
        flags.append(code.literal())
        for literal in literals:
            code.model.add_implication(literal, flags[-1])
    code.model.add(sum(flags) <= unit.spec.zones)


def _alone(code: Encoding, unit: Unit, here: Iterable[tuple[Service, Literal]]) -> None:
    if unit.role not in (Role.APPLIANCE, Role.TOWER):
        return
    for (left, literal), (right, other) in combinations(here, 2):
        tied = any({left.name, right.name} <= rule.services for rule in code.site.together)
        if not tied:
            code.model.add_bool_or(literal.negated(), other.negated())


def _capacity(code: Encoding, unit: Unit, here: list[tuple[Service, Literal]], resource: str) -> None:
    policy, host = code.site.policy, unit.role is Role.HOST
    if resource == "vcpu" and not host:
        return
    kept = 0.0 if unit.role is Role.BARE else policy.headroom.get(resource, 0.0)
    there = getattr(unit.spec, resource) * (1.0 - kept) if resource != "vcpu" else 0.0
    there = policy.vcpu_per_core * unit.spec.cores if resource == "vcpu" else there
    factor = 1.0 + policy.host_cpu_share if host and resource == "cpu" else 1.0
    own, each = (0.0, 0.0)
    if host and resource == "memory_gib":
        own, each = policy.host_memory_gib, policy.guest_memory_gib
    for slot in range(code.site.slots):
        amounts = [round(CAPACITY_SCALE * (s.demand.at(resource, slot) * factor + each)) for s, _ in here]
        total = sum(amount * literal for amount, (_, literal) in zip(amounts, here, strict=True))
        code.model.add(total <= round(CAPACITY_SCALE * (there - own)) * code.on[unit])


def _add_measures(code: Encoding) -> None:
    model, site = code.model, code.site
    for target in {target for target, _ in code.chosen}:
        model.add_exactly_one(code.chosen[target, names] for names in code.sets(target))
    for name, taken in code.take.items():
        measure = site.measure[name]
        sets = [names for names in code.sets(measure.target) if name in names]
        model.add(sum(code.chosen[measure.target, names] for names in sets) == taken)
        if measure.target in site.box:
            on = [code.on[u] for u in code.units if u.is_box and u.ref == measure.target]
            model.add_bool_or(taken.negated(), *on)
        elif measure.target in site.cooling_option:
            model.add_implication(taken, code.have[measure.target])
        there = {**code.have, **code.take}
        for other in measure.excludes:
            if other in there:
                model.add_bool_or(taken.negated(), there[other].negated())
        for other in measure.requires:
            model.add_bool_or(taken.negated(), *([there[other]] if other in there else []))


def _add_cooling(code: Encoding) -> None:
    model, site = code.model, code.site
    for option in site.cooling:
        ever = [lit for (name, _), lit in code.run.items() if name == option.name]
        model.add_max_equality(code.have[option.name], ever or [0])
        for season in site.seasons:
            runs = code.runs(option.name, season)
            if runs is None:
                continue
            there = {o.name: lit for o in site.cooling if (lit := code.runs(o.name, season)) is not None}
            there.update(code.take)
            for other in option.excludes:
                if other in there:
                    model.add_bool_or(runs.negated(), there[other].negated())
            for other in option.requires:
                model.add_bool_or(runs.negated(), *([there[other]] if other in there else []))
