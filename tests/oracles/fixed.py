"""The integer programme with every decision fixed to a state: its rows as arrays, and which of them break.

Written without the project's own way back from states to values, so that it can disagree with that too.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np
import pulp

from planner.domain.measures import ROOM
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.placement.formulation import Model, build
from planner.placement.formulation.acoustic import Hearing
from planner.placement.formulation.peak_hours import overfull_hours
from planner.placement.formulation.problem import Mode, prepare
from planner.placement.formulation.slots import Slot, pools_of_boxes
from planner.solver import Limits, Program, run
from planner.tolerances import SOLVER

Floats = np.ndarray[tuple[int], np.dtype[np.float64]]
Whole = np.ndarray[tuple[int], np.dtype[np.int64]]
Column = Mapping[pulp.LpVariable, int]

FREE = ("largest:", "lost:", "spare room:", "at least ")
"""How the rows begin in which something is left to decide once a state is fixed."""

SPARE = (*FREE, "spare ")
"""How all rows of spare hosts begin."""


class InexpressibleError(ValueError):
    """The programme has no values for a state: it refuses it before any row."""


@dataclass(frozen=True)
class Rows:
    """Named rows as arrays: entry by entry its row, its column and its coefficient, and bounds by row."""

    names: tuple[str, ...]
    row: Whole
    column: Whole
    value: Floats
    lower: Floats
    upper: Floats

    @classmethod
    def of(cls, rows: Mapping[str, pulp.LpConstraint], column: Column) -> Rows:
        """Write rows as arrays."""
        entries = [
            (number, column[variable], coefficient)
            for number, row in enumerate(rows.values())
            for variable, coefficient in row.items()
        ]
        lower = [-np.inf if row.sense == pulp.LpConstraintLE else -row.constant for row in rows.values()]
        upper = [np.inf if row.sense == pulp.LpConstraintGE else -row.constant for row in rows.values()]
        table = np.array(entries, float).reshape(-1, 3)
        where, what = table[:, 0].astype(np.int64), table[:, 1].astype(np.int64)
        return cls(tuple(rows), where, what, table[:, 2], np.array(lower), np.array(upper))

    def passed_by(self, values: Floats) -> Floats:
        """Compute by how much each row is broken; none or less where it holds."""
        sums = np.bincount(self.row, self.value * values[self.column], len(self.names))
        over: Floats = np.maximum(sums - self.upper, self.lower - sums)
        return over

    def broken(self, values: Floats, by: float = SOLVER) -> list[str]:
        """Find the rows that are broken by more than a solver would let pass."""
        return [self.names[index] for index in np.flatnonzero(self.passed_by(values) > by)]


@dataclass
class Fixed:
    """A site's programme, ready to be fixed to states.

    ``single``: kinds and alike boxes are written one by one, and every loss of hosts whole, so that the rows
    say all there is to say; else they are pools, which only ever say less. ``previous``: the earlier plan
    from which changes may be counted, too.
    """

    site: Site
    single: bool
    previous: State | None = None
    model: Model = field(init=False)
    hearing: Hearing = field(init=False)
    columns: dict[pulp.LpVariable, int] = field(init=False)
    rows: Rows = field(init=False)
    heat: dict[str, Rows] = field(init=False)

    def __post_init__(self) -> None:
        every = frozenset(kind.name for kind in self.site.kinds) | pools_of_boxes(self.site, self.previous)
        written_out = every if self.single else frozenset[str]()
        problem = prepare(self.site, written_out, previous=self.previous)
        if self.single and self.site.policy.spare_hosts:
            hosts = [slot.key for slot in problem.slots if slot.is_host]
            lost = frozenset(combinations(hosts, min(self.site.policy.spare_hosts, len(hosts))))
            problem = prepare(self.site, written_out, lost=lost - {()}, previous=self.previous)
        self.model = build(problem)
        self.hearing = Hearing(self.model)
        self.columns = {variable: index for index, variable in enumerate(self.model.program.variables)}
        written = self.model.program.rows
        self.rows = Rows.of(
            {name: row for name, row in written.items() if not name.startswith(FREE)}, self.columns
        )
        self.heat = {
            season.name: Rows.of({"heat": written[f"heat:{season.name}"]}, self.columns)
            for season in self.site.seasons
        }

    def values(self, state: State) -> Floats:
        """Compute the value of every variable that a state decides; InexpressibleError where it cannot be."""
        found: dict[pulp.LpVariable, float] = {}
        _Writer(self.model, state, self.single, found).write()
        values = np.zeros(len(self.columns))
        for variable, value in found.items():
            values[self.columns[variable]] = value
        for season in self.site.seasons:
            self._choose_band(season.name, state, values)
        self._raise_flags(values)
        return values

    def _choose_band(self, season: str, state: State, values: Floats) -> None:
        """Let the coolest inlet band hold in which the heat leaves, the warmest where it leaves in none."""
        when = next(item for item in self.site.seasons if item.name == season)
        variant = next(i for i, v in self.model.variant.items() if values[self.columns[v]] > 0.5)
        bands = self.model.problem.bands_c(when)
        for band in range(len(bands)):
            for other in range(len(bands)):
                holds = self.model.room[season, variant, other]
                values[self.columns[holds]] = float(other == band)
                self._split(season, other, state, values, holds=other == band)
            if not self.heat[season].broken(values):
                return

    def _split(self, season: str, band: int, state: State, values: Floats, *, holds: bool) -> None:
        """Find what an option's running counts for in a band: all in the one that holds."""
        for option in self.site.cooling:
            name = f"run:{option.name}@{season} in band {band}"
            if name in self.model.program.rows:
                share = next(v for v, part in self.model.program.rows[name].items() if part > 0.0)
                runs = option.name in state.cooling.get(season, ())
                values[self.columns[share]] = float(holds and runs)

    def _raise_flags(self, values: Floats) -> None:
        """Raise what says that a zone is on a machine as little as its rows ask for."""
        for name, row in self.model.program.rows.items():
            if name.startswith("zone:"):
                flag = next(v for v, part in row.items() if part < 0.0)
                placed = next(v for v, part in row.items() if part > 0.0)
                column = self.columns[flag]
                values[column] = max(values[column], values[self.columns[placed]])

    def broken(self, values: Floats) -> list[str]:
        """Find the rows that values break, those of hours that are not written until then too.

        With spare hosts a solver is asked for what is left to decide.
        """
        found = self.rows.broken(values)
        by_name = {variable.name: values[column] for variable, column in self.columns.items()}
        found += [f"capacity: hour {hour}" for hour in sorted(overfull_hours(self.model, by_name))]
        if self.site.policy.spare_hosts and not found and not self._can_be_completed(values):
            found.append("spare")
        return found

    def _can_be_completed(self, values: Floats) -> bool:
        """Say whether something completes a state's values so that all rows of spare hosts hold."""
        model, program = self.model, Program()
        decided = [*model.on.values(), *model.place.values()]
        program.variables = model.program.variables
        program.rows = {name: row for name, row in model.program.rows.items() if name.startswith(SPARE)}
        program.rows |= {f"fixed:{v.name}": v == values[self.columns[v]] for v in decided}
        return run(program, pulp.LpAffineExpression(), Limits(time_s=60.0)).found

    @property
    def tells_hosts_apart(self) -> bool:
        """Say whether what moves between boxes that the earlier plan made hosts is counted."""
        return not any(slot.alike and slot.alike.were_hosts for slot in self.model.problem.slots)

    def hearing_of(self, site: Site) -> Hearing:
        """Write the rows of sound for another site's targets, over the same variables."""
        model = replace(self.model, problem=replace(self.model.problem, site=site))
        return Hearing(model)

    def sum_of(self, expression: pulp.LpAffineExpression, values: Floats) -> float:
        """Compute what an expression comes to, without variables that were made for it alone."""
        known = [(v, part) for v, part in expression.items() if v in self.columns]
        parts = (part * values[self.columns[variable]] for variable, part in known)
        return math.fsum([expression.constant, *parts])


@dataclass
class _Writer:
    """Writes down what a state decides, variable by variable."""

    model: Model
    state: State
    single: bool
    found: dict[pulp.LpVariable, float]

    def write(self) -> None:
        """Write everything down; InexpressibleError where the programme has no variable for it."""
        slots = self._slots()
        for machine, key in slots:
            slot = next(item for item in self.model.problem.slots if item.key == key)
            self._machine(machine, slot)
        if sum(len(machine.services) for machine, _ in slots) != len(self.model.problem.site.services):
            raise InexpressibleError("a service is nowhere or twice")
        self._measures({machine.box: key for machine, key in slots if machine.box})
        self._cooling()

    def _slots(self) -> list[tuple[Machine, str]]:
        """Find each machine's slot; units of a kind that is written unit by unit by their first items."""
        place = {service.name: item.index for item in self.model.problem.items for service in item.services}
        used: Counter[str] = Counter()
        found = []
        for machine in sorted(
            self.state.machines, key=lambda m: min(map(place.__getitem__, m.services), default=-1)
        ):
            ref = machine.box or machine.kind or ""
            able = [
                slot.key
                for slot in self.model.problem.slots
                if ref in (slot.alike.boxes if slot.alike is not None else (slot.candidate.ref,))
                and slot.is_box == (machine.box is not None)
                and slot.candidate.role is machine.role
                and self._right_zone(machine, slot)
            ]
            single = machine.kind is not None and self.single
            number = used[ref] if single else 0
            used[ref] += 1
            if number >= len(able):
                raise InexpressibleError(f"no slot for {machine.name}")
            found.append((machine, able[number]))
        return found

    def _right_zone(self, machine: Machine, slot: Slot) -> bool:
        zones = {self.model.problem.site.service[name].zone for name in machine.services}
        return slot.zone is None or zones == {slot.zone}

    def _machine(self, machine: Machine, slot: Slot) -> None:
        model, on = self.model, self.model.on[slot.key]
        self.found[on] = self.found.get(on, 0.0) + 1.0
        if self.found[on] > slot.units:
            raise InexpressibleError(f"too many on {slot.key}")
        carried = [
            item for item in model.problem.items if {s.name for s in item.services} & {*machine.services}
        ]
        for item in carried:
            if not {s.name for s in item.services} <= {*machine.services}:
                raise InexpressibleError(f"{item.name} is split")
            if (item.index, slot.key) not in model.place:
                raise InexpressibleError(f"{item.name} may not be on {slot.key}")
            self.found[model.place[item.index, slot.key]] = 1.0
        share = 1.0 + model.problem.site.policy.host_cpu_share if slot.is_host else 1.0
        load = math.fsum(item.mean_cpu for item in carried) * share / slot.spec.cpu
        self.found[model.load[slot.key]] = self.found.get(model.load[slot.key], 0.0) + load
        if (slot.key, machine.circuit) in model.plug:
            plug = model.plug[slot.key, machine.circuit]
            self.found[plug] = self.found.get(plug, 0.0) + 1.0
        elif machine.circuit not in slot.circuits:
            raise InexpressibleError(f"{machine.name} is on another circuit")

    def _measures(self, keys: Mapping[str | None, str]) -> None:
        model, site = self.model, self.model.problem.site
        for name in self.state.measures:
            if name not in model.take:
                raise InexpressibleError(f"{name} may not be taken")
            self.found[model.take[name]] = 1.0
        running = frozenset[str]().union(*self.state.cooling.values())
        there = {item.name: item.name for item in site.gear}
        there |= {name: name for name in running}
        there |= {str(box): key for box, key in keys.items()}
        for target in (*site.box, *(item.name for item in site.gear), *site.cooling_option):
            taken = frozenset(m for m in self.state.measures if site.measure[m].target == target)
            if target in there:
                mode = self._set_of(target, taken)
                self._mode(there[target], mode)
            elif taken:
                raise InexpressibleError(f"{target} is not there")
        room = frozenset(m for m in self.state.measures if site.measure[m].target == ROOM)
        if room not in model.problem.variants:
            raise InexpressibleError("these room measures do not go together")
        self.found[model.variant[model.problem.variants.index(room)]] = 1.0

    def _set_of(self, target: str, taken: frozenset[str]) -> Mode:
        for mode in self.model.problem.modes(target):
            if mode.measures == taken:
                return mode
        raise InexpressibleError(f"{sorted(taken)} do not go together")

    def _mode(self, key: str, mode: Mode) -> None:
        """Choose a mode; a box without any other has none to choose, and its load is what it is."""
        if key in self.model.load and (key, 1) in self.model.mode:
            self.found[self.model.mode_load[key, mode.index]] = self.found[self.model.load[key]]
        if key not in self.model.load or (key, 1) in self.model.mode:
            self.found[self.model.mode[key, mode.index]] = 1.0

    def _cooling(self) -> None:
        model, site = self.model, self.model.problem.site
        for season, names in self.state.cooling.items():
            for name in names:
                if (name, season) not in model.run:
                    raise InexpressibleError(f"{name} cannot run in {season}")
                taken = frozenset(m for m in self.state.measures if site.measure[m].target == name)
                self.found[model.run[name, season]] = 1.0
                self.found[model.have[name]] = 1.0
                self.found[model.run_mode[name, season, self._set_of(name, taken).index]] = 1.0
