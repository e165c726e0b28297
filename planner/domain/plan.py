"""What a plan is: the state to reach, what it means for each service and box, and how good it is proven."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from planner.domain.machines import Role
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import Machine, State, role_today, state_today
from planner.ledger import Ledger
from planner.tolerances import LEVEL_DB


class Verdict(StrEnum):
    """What happens to a service."""

    VIRTUALISE = "virtualise"
    APPLIANCE = "appliance"
    TOWER = "tower"
    KEEP = "keep"


class Fate(StrEnum):
    """What happens to a box."""

    KEEP = "keep"
    REUSE = "reuse"
    RETIRE = "retire"


INTERRUPTED = "interrupted"
TIME_LIMIT = "time limit"
"""What may have stopped a search, of plans and of orders: the person, the clock; else it is told in words."""


class Outcome(StrEnum):
    """How a solve ended, in our own words: the modelling layer's status is not trusted."""

    PROVEN = "proven"
    WITHIN_GAP = "within the asked gap"
    STOPPED_WITH_PLAN = "stopped with a plan"
    STOPPED_EMPTY = "stopped without a plan"
    INFEASIBLE = "no plan can exist"
    FAILED = "failed"


@dataclass(frozen=True)
class AimResult:
    """The value reached for one aim and the bound proven for it; gap is absolute, in the aim's unit.

    sound: dB over the targets (or dBA at the loudest listener where no target is given), in 0.5 dB steps;
    power: mean watts over the year; cost: money; change: things changed. ``confirmed_by``: what shows a proof
    beside the run of the solver that found it, empty where it rests on that run alone.
    """

    aim: Aim
    value: float
    bound: float
    proven: bool
    confirmed_by: str = ""

    @property
    def gap(self) -> float:
        """The distance between value and bound."""
        return max(0.0, self.value - self.bound)


@dataclass(frozen=True)
class Purchase:
    """A line of the shopping list: a kind, a cooling option, a measure or the re-use of a box."""

    what: str
    sort: str
    count: int
    price_each: float
    hours_each: float

    @property
    def price(self) -> float:
        """The line's money."""
        return self.count * self.price_each

    @property
    def hours(self) -> float:
        """The line's hours of work."""
        return self.count * self.hours_each


@dataclass(frozen=True)
class Restart:
    """What a loss means: by service the host it restarts on, and what does not come back.

    ``lost``: the names of the hosts lost at once. ``stays_off``: services that need not restart or are tied
    to a lost box; ``stranded``: those for which no room was found, none in a plan that passed.
    """

    lost: tuple[str, ...]
    to: tuple[tuple[str, str], ...]
    stays_off: tuple[str, ...] = ()
    stranded: tuple[str, ...] = ()


@dataclass(frozen=True)
class Plan:
    """A state to reach, with its proof; ``previous``: the one its changes are counted from.

    ``restarts``: for each loss of hosts that is planned for, where services restart.
    ``contradictions``: where two runs of solvers said what cannot both be, and what was made of it.
    """

    state: State
    aims: tuple[AimResult, ...]
    outcome: Outcome
    stopped_by: str = ""
    previous: State | None = None
    contradictions: tuple[str, ...] = ()
    restarts: tuple[Restart, ...] = ()

    @property
    def proven(self) -> bool:
        """True when every aim is proven optimal in the person's order."""
        return self.outcome is Outcome.PROVEN

    @property
    def confirmed(self) -> bool:
        """True when every proof was shown by more than one run of one solver."""
        return all(result.confirmed_by for result in self.aims if result.proven)

    @property
    def sure(self) -> bool:
        """True when it is proven by more than one run of one solver."""
        return self.proven and self.confirmed


def stays_put(site: Site, machine: Machine, service: str) -> bool:
    """Say whether a service on this machine is just where and how it runs today."""
    today = site.service[service].box
    return machine.box == today and machine.role is role_today(site, today)


def verdict(site: Site, state: State, service: str) -> Verdict:
    """Compute the verdict on a service; KeyError when the state does not carry it."""
    machines = state.where(service)
    if not machines:
        raise KeyError(service)
    machine = machines[0]
    if stays_put(site, machine, service):
        return Verdict.KEEP
    by_role = {Role.HOST: Verdict.VIRTUALISE, Role.APPLIANCE: Verdict.APPLIANCE, Role.TOWER: Verdict.TOWER}
    return by_role.get(machine.role, Verdict.KEEP)


def fate(site: Site, state: State, box: str) -> Fate:
    """Compute what becomes of a box: keep (as it is), reuse (as a host then), retire (switched off)."""
    for machine in state.machines:
        if machine.box == box:
            return Fate.KEEP if machine.role is role_today(site, box) else Fate.REUSE
    return Fate.RETIRE


def purchases(site: Site, state: State) -> tuple[Purchase, ...]:
    """Build a state's shopping list: kinds, re-used boxes, cooling not owned, measures, in this order."""
    lines: list[Purchase] = []
    for kind in site.kinds:
        count = sum(machine.kind == kind.name for machine in state.machines)
        if count:
            lines.append(Purchase(kind.name, "machine", count, kind.price, kind.hours))
    for box in site.boxes:
        if fate(site, state, box.name) is Fate.REUSE:
            lines.append(Purchase(box.name, "re-use", 1, box.reuse_price, box.reuse_hours))
    running = frozenset().union(*state.cooling.values()) if state.cooling else frozenset()
    for option in site.cooling:
        if option.name in running and not option.owned:
            lines.append(Purchase(option.name, "cooling", 1, option.price, option.hours))
    for measure in site.measures:
        if measure.name in state.measures:
            lines.append(Purchase(measure.name, "measure", 1, measure.price, measure.hours))
    return tuple(lines)


def outlay(site: Site, state: State) -> float:
    """Compute the money a state costs to reach, without work."""
    return sum(line.price for line in purchases(site, state))


def cost(site: Site, state: State) -> float:
    """Compute money plus hours of work at the site's rate: the value of the cost aim."""
    hours = sum(line.hours for line in purchases(site, state))
    return outlay(site, state) + site.policy.labour_per_hour * hours


def changes(site: Site, state: State, previous: State | None = None) -> int:
    """Count what changes against today: services moved, lines bought or done, boxes off, cooling switched.

    With ``previous``, the state of an earlier plan, what differs from that is counted instead.
    """
    if previous is not None:
        return differences(site, state, previous)
    moved = sum(
        not stays_put(site, machine, service) for machine in state.machines for service in machine.services
    )
    bought = sum(line.count for line in purchases(site, state))
    off = sum(fate(site, state, box.name) is Fate.RETIRE for box in site.boxes)
    today = state_today(site).cooling
    switched = sum(len(today[name] ^ state.cooling.get(name, frozenset())) for name in today)
    return moved + bought + off + switched


Place = tuple[str, str, Role]
"""Where a service runs, units of a kind being alike: 'box' or 'kind', its name, its role there."""


def places(state: State) -> dict[str, Place]:
    """Look up, by service, where it runs; units of a kind are not told apart."""
    found: dict[str, Place] = {}
    for machine in state.machines:
        place = ("kind", machine.kind, machine.role) if machine.kind else ("box", machine.name, machine.role)
        found.update(dict.fromkeys(machine.services, place))
    return found


def differences(site: Site, state: State, previous: State) -> int:
    """Count what two plans do differently with what the site has now.

    Services that run on another box or kind or in another role, units of each kind more or less, boxes with
    another fate, measures taken in only one, cooling that runs in only one, by season.
    """
    before, now = places(previous), places(state)
    moved = sum(name in before and before[name] != place for name, place in now.items())
    units = sum(abs(_units(state, kind.name) - _units(previous, kind.name)) for kind in site.kinds)
    fates = sum(fate(site, state, box.name) is not fate(site, previous, box.name) for box in site.boxes)
    taken = len((state.measures ^ previous.measures) & set(site.measure))
    switched = sum(
        (option.name in state.cooling.get(season.name, ()))
        is not (option.name in previous.cooling.get(season.name, ()))
        for season in site.seasons
        for option in site.cooling
    )
    return moved + units + fates + taken + switched


def _units(state: State, kind: str) -> int:
    return sum(machine.kind == kind for machine in state.machines)


SOUND_STEP_DB = 0.5
"""The sound aim is reached in steps of this size: finer differences are not heard, nor predictable."""


def sound_value(site: Site, levels_dba: Mapping[str, float]) -> float:
    """Compute the value of the sound aim: dB over the targets, or the loudest dBA where nobody has a target.

    Rounded up to the next 0.5 dB and never under zero: a target that is met is met. Where a target carries
    a confidence, the level is the one that is kept so surely.
    """
    targeted = [item for item in site.listeners if item.target_dba is not None]
    over = [levels_dba[item.name] - (item.target_dba or 0.0) for item in targeted or site.listeners]
    worst = max([0.0, *over])
    return max(0.0, math.ceil((worst - LEVEL_DB) / SOUND_STEP_DB) * SOUND_STEP_DB)


def aim_value(site: Site, state: State, book: Ledger, aim: Aim, previous: State | None = None) -> float:
    """Compute an aim's value for a state with its ledger; ``previous``: where changes are counted from."""
    if aim is Aim.SOUND:
        # Here, for it brings numpy, and who only opens an inventory need not wait for that.
        from planner.ledger.certainty import held_levels_dba

        return sound_value(site, held_levels_dba(site, state, book))
    if aim is Aim.POWER:
        return book.mean_power_w
    return cost(site, state) if aim is Aim.COST else float(changes(site, state, previous))
