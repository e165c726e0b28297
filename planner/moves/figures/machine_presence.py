"""When each machine is on and carries what, as polynomials in what is done.

In the crest of a wave what it moves runs on both sides and nothing has been switched off yet: what is taken
away then is what was done in an earlier wave.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum

from planner.domain.order import Sort, task_id
from planner.domain.state import Machine, role_today
from planner.moves.figures.polynomials import Literal, Poly, number, once, total, unless
from planner.moves.tasks.state_difference import Change


class When(Enum):
    """A moment of a wave: its fullest, the one with all done but nothing let go of, and its end."""

    CREST = "crest"
    SETTLING = "settling"
    END = "end"


@dataclass(frozen=True)
class Presence:
    """A machine in one of its roles: when it is on, and when it carries what."""

    machine: Machine
    on: Poly
    carried: tuple[tuple[str, Poly], ...]

    def with_services(self, *names: str) -> Machine:
        """Build the machine with some services."""
        it = self.machine
        return Machine(it.name, it.role, it.circuit, names, it.box, it.kind)

    def loaded(self, value: Callable[[Machine], float]) -> Poly:
        """Build a figure that is linear in what the machine carries."""
        idle = value(self.with_services())
        parts = [poly.times(value(self.with_services(name)) - idle) for name, poly in self.carried]
        return total([self.on.times(idle), *parts])


@dataclass(frozen=True)
class Moments:
    """Which literals stand for what in a moment of a wave; ``late`` tasks are not done in its crest."""

    change: Change
    when: When = When.END
    late: frozenset[str] = frozenset()

    def done(self, sort: Sort, subject: str) -> Poly:
        """Build the literal of a task that adds something."""
        id_ = task_id(sort, subject)
        return once(Literal(id_, early=self.when is When.CREST and id_ in self.late))

    def released(self, sort: Sort, subject: str) -> Literal:
        """Look up the literal of a task that takes something away."""
        early = self.when is When.CREST or (self.when is When.SETTLING and sort is Sort.MOVE)
        return Literal(task_id(sort, subject), early)

    def until(self, sort: Sort, subject: str) -> Poly:
        """Build what is 1 while something is there that a task takes away."""
        return unless(self.released(sort, subject))

    def switched(self, option: str, *, today: bool, then: bool) -> Poly:
        """Build what is 1 while cooling runs that does or does not run today and in the target."""
        if today and then:
            return number(1.0)
        if today:
            return self.until(Sort.COOLING_OFF, option)
        return self.done(Sort.COOLING_ON, option) if then else number(0.0)

    def presences(self) -> Iterator[Presence]:
        """List every machine that is on at some time."""
        for machine in self.change.target.machines:
            if machine.kind is not None:
                yield Presence(machine, self.done(Sort.BRING_IN, machine.name), self._arrivals(machine))
            elif machine.box not in self.change.rebuilt:
                yield self._kept(machine)
            else:
                yield self._before_rebuild(machine.name)
                yield Presence(machine, self.done(Sort.REUSE, machine.name), self._arrivals(machine))
        for box in self.change.leaving:
            on = self.until(Sort.HOLD, box)
            yield Presence(self._today(box), on, self._leavers(box, on))

    def _today(self, box: str) -> Machine:
        site = self.change.site
        services = self.change.residents[box]
        return Machine(box, role_today(site, box), site.box[box].circuit, services, box=box)

    def _arrivals(self, machine: Machine) -> tuple[tuple[str, Poly], ...]:
        return tuple((name, self.done(Sort.MOVE, name)) for name in self.change.arrivals(machine))

    def _leavers(self, box: str, on: Poly) -> tuple[tuple[str, Poly], ...]:
        return tuple((name, self.until(Sort.MOVE, name) * on) for name in self.change.leavers(box))

    def _kept(self, machine: Machine) -> Presence:
        stay = [(name, number(1.0)) for name in machine.services if name not in self.change.moved]
        carried = (*stay, *self._arrivals(machine), *self._leavers(machine.name, number(1.0)))
        return Presence(machine, number(1.0), carried)

    def _before_rebuild(self, box: str) -> Presence:
        held = box in self.change.held
        on = self.until(Sort.HOLD, box) if held else unless(Literal(task_id(Sort.REUSE, box)))
        here = [name for name in self.change.residents[box] if name in self.change.in_place]
        stay = [(name, unless(Literal(task_id(Sort.REUSE, box)))) for name in here]
        return Presence(self._today(box), on, (*stay, *self._leavers(box, on)))
