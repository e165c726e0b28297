"""What the room's figures are, written as polynomials in what is done: for the schedule's rows and aims.

The coefficients are asked from the ledger's own functions, so that both mean the same.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

from planner.domain.air import Cooling, Season
from planner.domain.machines import Gear, Role
from planner.domain.measures import ROOM
from planner.domain.order import Sort
from planner.domain.site import Site
from planner.domain.sound import Bands, Sound
from planner.domain.state import Machine
from planner.ledger import climate, draw
from planner.ledger.effects import quieted, taken_on
from planner.moves.figures.loudness import energy_of, quiet_shares, reference_dba, transfers_db
from planner.moves.figures.machine_presence import Moments, Presence, When
from planner.moves.figures.polynomials import Poly, by_subset, number, total
from planner.moves.tasks.state_difference import Change

MOST_ROOM_MEASURES = 3
"""Room measures beyond these are left out of the schedule's sound."""

Measures = frozenset[str]
NONE: Measures = frozenset()


class Figures:
    """The figures of a change in a moment of a wave; ``late`` tasks are not done in its crest."""

    def __init__(self, change: Change, when: When = When.END, late: frozenset[str] = frozenset()) -> None:
        self.change = change
        self.moments = Moments(change, when, late)
        self.presences = tuple(self.moments.presences())
        self._ways: dict[Measures, dict[str, Bands]] = {}

    @property
    def site(self) -> Site:
        """The site."""
        return self.change.site

    def rack(self) -> Poly:
        """Build the sum of rack units taken, those of boxes kept switched off included."""
        site, change = self.site, self.change
        parts = [self.moments.done(Sort.BRING_IN, m.name).times(m.spec(site).rack_u) for m in change.bought]
        for box in site.boxes:
            leaves = box.name in change.leaving
            there = self.moments.until(Sort.RETIRE, box.name) if leaves else number(1.0)
            parts.append(there.times(box.spec.rack_u))

        def units(gear: Gear, taken: Measures) -> float:
            return gear.rack_u if quieted(site, gear.name, gear.sound, taken) is not None else 0.0

        return total([*parts, self._gear(units)])

    def circuit(self, name: str) -> Poly:
        """Build the sum of a circuit's greatest continuous load, W."""
        site = self.site

        def machine(item: Machine, taken: Measures) -> float:
            return draw.machine_peak_w(site, item, taken) if item.circuit == name else 0.0

        def gear(item: Gear, taken: Measures) -> float:
            return draw.gear_w(site, item, taken) if item.circuit == name else 0.0

        def cooling(item: Cooling, taken: Measures) -> float:
            return draw.cooling_w(site, item, taken) if item.circuit == name else 0.0

        return total([self._machines(machine), self._gear(gear), self._cooling(self._ever, cooling)])

    def heat(self, season: Season) -> Poly:
        """Build the heat of a season less what takes it out at the limit's temperature, W: not over 0."""
        site, limit_c = self.site, self.site.policy.inlet_limit_c

        def cooling(item: Cooling, taken: Measures) -> float:
            out_w = climate.option_capacity_w(site, season, item, limit_c)
            return draw.cooling_w(site, item, taken) * item.heats_room - out_w

        def room(taken: Measures) -> Poly:
            return number(-climate.room_capacity_w(site, season, taken, limit_c))

        return total(
            [
                self._machines(lambda item, taken: draw.machine_w(site, item, taken)),
                self._gear(lambda item, taken: draw.gear_heat_w(site, item, taken)),
                self._cooling(lambda item: self._running(item, season), cooling),
                self._measured(ROOM, room),
            ]
        )

    def mean_power(self) -> Poly:
        """Build the sum of mean draw at the wall over the year, W."""
        site = self.site
        hours = sum(season.hours for season in site.seasons)

        def on(item: Cooling) -> Poly:
            return total(self._running(item, season).times(season.hours / hours) for season in site.seasons)

        return total(
            [
                self._machines(lambda item, taken: draw.machine_w(site, item, taken)),
                self._gear(lambda item, taken: draw.gear_w(site, item, taken)),
                self._cooling(on, lambda item, taken: draw.cooling_w(site, item, taken) * item.duty),
            ]
        )

    def loudness(self) -> Poly:
        """Build the sum of energy over the listeners' references, as ``quiet.loudness`` has it."""
        site = self.site

        def on(item: Cooling) -> Poly:
            return total(self._running(item, season).times(share) for season, share in quiet_shares(site))

        def machine(item: Machine, taken: Measures) -> float:
            return self._energy(item.name, item.spec(site).sound, draw.utilisation(site, item), taken)

        room = self._heard_room
        return total(
            [
                self._machines(machine, room),
                self._gear(lambda item, taken: self._energy(item.name, item.sound, 0.0, taken), room),
                self._cooling(on, lambda item, taken: self._energy(item.name, item.sound, 1.0, taken), room),
            ]
        )

    @cached_property
    def _reference(self) -> dict[str, float]:
        return reference_dba(self.site)

    @cached_property
    def _heard_room(self) -> tuple[str, ...]:
        """Room measures that change how sound travels."""
        found = []
        for name in taken_on(self.site, ROOM, self.change.target.measures):
            effect = self.site.measure[name].room_effect
            if effect is not None and (effect.surfaces or effect.elements):
                found.append(name)
        return tuple(found[:MOST_ROOM_MEASURES])

    def _energy(self, name: str, base: Sound, load: float, taken: Measures) -> float:
        quiet = quieted(self.site, name, base, taken)
        key = taken & frozenset(self._heard_room)
        if key not in self._ways:
            self._ways[key] = transfers_db(self.site, key)
        if quiet is None:
            return 0.0
        return energy_of(self.site, quiet, load, self._ways[key], self._reference)

    def _running(self, option: Cooling, season: Season) -> Poly:
        today = option.name in self.change.today.cooling[season.name]
        then = option.name in self.change.target.cooling.get(season.name, NONE)
        return self.moments.switched(option.name, today=today, then=then)

    def _ever(self, option: Cooling) -> Poly:
        today = any(option.name in names for names in self.change.today.cooling.values())
        then = any(option.name in names for names in self.change.target.cooling.values())
        return self.moments.switched(option.name, today=today, then=then)

    def _measured(self, target: str, value: Callable[[Measures], Poly], also: tuple[str, ...] = ()) -> Poly:
        """Build a figure that depends on the measures on a target and on some others."""
        names = (*taken_on(self.site, target, self.change.target.measures), *also)
        of = {self.moments.released(Sort.MEASURE, name): name for name in names}
        return by_subset(tuple(of), lambda taken: value(frozenset(of[literal] for literal in taken)))

    def _machines(self, value: Callable[[Machine, Measures], float], also: tuple[str, ...] = ()) -> Poly:
        def one(here: Presence) -> Poly:
            def under(taken: Measures) -> Poly:
                return here.loaded(lambda machine: value(machine, taken))

            return self._measured(here.machine.name, under, also)

        return total(one(here) for here in self.presences)

    def _gear(self, value: Callable[[Gear, Measures], float], also: tuple[str, ...] = ()) -> Poly:
        def one(gear: Gear) -> Poly:
            return self._measured(gear.name, lambda taken: number(value(gear, taken)), also)

        return total(one(gear) for gear in self.site.gear)

    def _cooling(
        self,
        on: Callable[[Cooling], Poly],
        value: Callable[[Cooling, Measures], float],
        also: tuple[str, ...] = (),
    ) -> Poly:
        def one(option: Cooling) -> Poly:
            runs = on(option)
            if not runs.terms:
                return number(0.0)
            return self._measured(option.name, lambda taken: runs.times(value(option, taken)), also)

        return total(one(option) for option in self.site.cooling)


def mixing_hosts(change: Change) -> list[Machine]:
    """Find kept hosts that services leave while others come: only those can be overfull on the way."""
    return [
        machine
        for machine in change.kept.values()
        if machine.name not in change.rebuilt
        and machine.role is Role.HOST
        and change.leavers(machine.name)
        and change.arrivals(machine)
    ]
