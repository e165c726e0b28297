"""The decision variables and what ties them to each other."""

from __future__ import annotations

from dataclasses import dataclass, field

import pulp

from planner.domain.air import Cooling, Season
from planner.domain.machines import Gear
from planner.domain.state import State
from planner.ledger import draw
from planner.placement.formulation.problem import Item, Mode, Problem
from planner.placement.formulation.slots import Slot
from planner.solver import Program

Terms = list[tuple[pulp.LpVariable, float]]


@dataclass
class Model:
    """Variables by what they decide. Keys are names of the site, slot keys and item indices.

    ``place`` item on slot; ``on`` slot switched on; ``load`` its CPU utilisation (0 to 1); ``mode`` set of
    measures on a source; ``mode_load`` utilisation while in a mode; ``take`` measure; ``run`` option in
    season; ``have`` option used in any season; ``run_mode`` option in season in a mode; ``room`` season,
    variant and inlet band that hold; ``plug`` bought unit on circuit. ``counters`` made for an aim;
    ``hours`` those whose capacity rows are written (None: all);
    ``previous`` the state of an earlier plan, from which changes are counted instead of from today.
    """

    problem: Problem
    program: Program = field(default_factory=Program)
    place: dict[tuple[int, str], pulp.LpVariable] = field(default_factory=dict)
    on: dict[str, pulp.LpVariable] = field(default_factory=dict)
    load: dict[str, pulp.LpVariable] = field(default_factory=dict)
    mode: dict[tuple[str, int], pulp.LpVariable] = field(default_factory=dict)
    mode_load: dict[tuple[str, int], pulp.LpVariable] = field(default_factory=dict)
    take: dict[str, pulp.LpVariable] = field(default_factory=dict)
    run: dict[tuple[str, str], pulp.LpVariable] = field(default_factory=dict)
    have: dict[str, pulp.LpVariable] = field(default_factory=dict)
    run_mode: dict[tuple[str, str, int], pulp.LpVariable] = field(default_factory=dict)
    room: dict[tuple[str, int, int], pulp.LpVariable] = field(default_factory=dict)
    variant: dict[int, pulp.LpVariable] = field(default_factory=dict)
    plug: dict[tuple[str, str], pulp.LpVariable] = field(default_factory=dict)
    counters: dict[str, pulp.LpVariable] = field(default_factory=dict)
    hours: set[int] | None = None
    previous: State | None = None

    def placed(self, slot: Slot) -> list[tuple[Item, pulp.LpVariable]]:
        """Look up the items that may be on a slot, each with its variable."""
        items = self.problem.items_of(slot)
        return [(item, self.place[item.index, slot.key]) for item in items]

    def source_modes(self, key: str, target: str) -> list[tuple[Mode, pulp.LpVariable]]:
        """Look up a source's modes with their variables; ``key``: a slot key, or a gear or cooling name."""
        return [(mode, self.mode[key, mode.index]) for mode in self.problem.modes(target)]

    def slot_modes(self, slot: Slot) -> list[tuple[Mode, pulp.LpVariable]]:
        """Look up a slot's modes with their variables; units and boxes of a pool have only the plain one."""
        return self.source_modes(slot.key, slot.box or "")

    def runs_in(self, option: Cooling, season: Season) -> pulp.LpVariable | None:
        """Look up the variable of an option in a season, None where it cannot run."""
        return self.run.get((option.name, season.name))


def add_variables(model: Model) -> None:
    """Create all decision variables with the rows that define them."""
    for slot in model.problem.slots:
        _slot_variables(model, slot)
    for measure in model.problem.site.measures:
        if measure.allowed:
            model.take[measure.name] = model.program.binary(f"take:{measure.name}")
    for gear in model.problem.site.gear:
        _gear_modes(model, gear)
    for option in model.problem.site.cooling:
        _cooling_variables(model, option)
    _room_variables(model)


def _slot_variables(model: Model, slot: Slot) -> None:
    program, total = model.program, model.program.total
    model.on[slot.key] = on = program.integer(f"on:{slot.key}", slot.units)
    for item in model.problem.items_of(slot):
        model.place[item.index, slot.key] = program.binary(f"place:{item.name}@{slot.key}")
    model.load[slot.key] = load = program.continuous(f"load:{slot.key}", slot.units)
    program.row(f"load:{slot.key}", total([*_utilisation(model, slot), (load, -1.0)]) == 0)
    if len(slot.circuits) > 1:
        for circuit in slot.circuits:
            model.plug[slot.key, circuit] = program.integer(f"plug:{slot.key}/{circuit}", slot.units)
        plugs = [(model.plug[slot.key, circuit], 1.0) for circuit in slot.circuits]
        program.row(f"plug:{slot.key}", total([*plugs, (on, -1.0)]) == 0)
    _slot_modes(model, slot, on, load)


def _utilisation(model: Model, slot: Slot) -> Terms:
    site = model.problem.site
    factor = draw.cpu_factor(site, slot.candidate.role) / slot.spec.cpu
    return [(variable, item.mean_cpu * factor) for item, variable in model.placed(slot)]


def _slot_modes(model: Model, slot: Slot, on: pulp.LpVariable, load: pulp.LpVariable) -> None:
    program, total = model.program, model.program.total
    modes = model.problem.modes(slot.box or "")
    if len(modes) == 1:
        model.mode[slot.key, 0] = on
        model.mode_load[slot.key, 0] = load
        return
    for mode in modes:
        chosen = program.binary(f"mode:{slot.key}/{mode.index}")
        share = program.continuous(f"load:{slot.key}/{mode.index}")
        model.mode[slot.key, mode.index] = chosen
        model.mode_load[slot.key, mode.index] = share
        program.row(f"load only in its mode:{slot.key}/{mode.index}", share <= chosen)
    chosen_terms = [(model.mode[slot.key, mode.index], 1.0) for mode in modes]
    program.row(f"one mode:{slot.key}", total([*chosen_terms, (on, -1.0)]) == 0)
    shares = [(model.mode_load[slot.key, mode.index], 1.0) for mode in modes]
    program.row(f"load in modes:{slot.key}", total([*shares, (load, -1.0)]) == 0)


def _gear_modes(model: Model, gear: Gear) -> None:
    modes = model.problem.modes(gear.name)
    for mode in modes:
        model.mode[gear.name, mode.index] = model.program.binary(f"mode:{gear.name}/{mode.index}")
    terms = [(model.mode[gear.name, mode.index], 1.0) for mode in modes]
    model.program.row(f"one mode:{gear.name}", model.program.total(terms) == 1)


def _cooling_variables(model: Model, option: Cooling) -> None:
    program, total = model.program, model.program.total
    model.have[option.name] = have = program.binary(f"have:{option.name}")
    modes = model.problem.modes(option.name)
    for mode in modes:
        several = len(modes) > 1
        chosen = program.binary(f"mode:{option.name}/{mode.index}") if several else have
        model.mode[option.name, mode.index] = chosen
    seasons = [season for season in model.problem.site.seasons if season.name in option.removal]
    for season in seasons:
        runs = program.binary(f"run:{option.name}@{season.name}")
        model.run[option.name, season.name] = runs
        program.row(f"run only what is there:{option.name}@{season.name}", runs <= have)
        _run_modes(model, option, season, runs)
    ever = [(model.run[option.name, season.name], 1.0) for season in seasons]
    program.row(f"there only to run:{option.name}", total([*ever, (have, -1.0)]) >= 0)
    if len(modes) > 1:
        terms = [(model.mode[option.name, mode.index], 1.0) for mode in modes]
        program.row(f"one mode:{option.name}", total([*terms, (have, -1.0)]) == 0)


def _run_modes(model: Model, option: Cooling, season: Season, runs: pulp.LpVariable) -> None:
    program, total = model.program, model.program.total
    modes = model.problem.modes(option.name)
    if len(modes) == 1:
        model.run_mode[option.name, season.name, 0] = runs
        return
    for mode in modes:
        both = program.continuous(f"run:{option.name}@{season.name}/{mode.index}")
        model.run_mode[option.name, season.name, mode.index] = both
        program.row(f"runs in its mode:{both.name}", both <= model.mode[option.name, mode.index])
    terms = [(model.run_mode[option.name, season.name, mode.index], 1.0) for mode in modes]
    program.row(f"runs in a mode:{option.name}@{season.name}", total([*terms, (runs, -1.0)]) == 0)


def _room_variables(model: Model) -> None:
    program, total, problem = model.program, model.program.total, model.problem
    for index in range(len(problem.variants)):
        model.variant[index] = program.binary(f"variant:{index}")
    program.row("one room variant", total([(v, 1.0) for v in model.variant.values()]) == 1)
    for season in problem.site.seasons:
        bands = range(len(problem.bands_c(season)))
        for index, variant in model.variant.items():
            for band in bands:
                model.room[season.name, index, band] = program.binary(f"room:{season.name}/{index}/{band}")
            terms = [(model.room[season.name, index, band], 1.0) for band in bands]
            program.row(f"one inlet band:{season.name}/{index}", total([*terms, (variant, -1.0)]) == 0)
