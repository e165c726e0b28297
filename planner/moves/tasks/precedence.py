"""What must come before what: links between tasks, each with its lag and its reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import IntEnum
from itertools import combinations

from planner.domain import practice
from planner.domain.machines import Role
from planner.domain.order import Cycle, Sort, task_id
from planner.domain.state import role_today
from planner.moves.tasks.cycles import dependencies, is_root
from planner.moves.tasks.state_difference import Change


class Lag(IntEnum):
    """How much later the second task comes: in the same wave after it, a day later, after the hold."""

    SAME = 0
    LATER = 1
    HELD = 2

    @property
    def hours(self) -> float:
        """The hours between the end of the one window and the start of the other."""
        return {Lag.SAME: 0.0, Lag.LATER: practice.DAY_H}.get(self, practice.HOLD_DAYS * 24.0)


@dataclass(frozen=True)
class Link:
    """The task ``after`` follows the task ``before``, with the reason in words.

    ``dependency`` is (consumer, provider) where a service depends on another: such a link can be given up.
    A ``wish`` is good practice and no rule of the judge: it gives way where no order keeps it.
    """

    before: str
    after: str
    lag: Lag
    because: str
    dependency: tuple[str, str] | None = None
    wish: bool = False


def links(change: Change, rings: tuple[Cycle, ...], *, wishes: bool = True) -> tuple[Link, ...]:
    """Collect all links between the tasks of a change, without the edges that break rings.

    Without ``wishes`` only those that are rules.
    """
    found = (
        *_hosts(change),
        *_services(change, rings),
        *_boxes(change),
        *_room_on_hosts(change),
        *_quorums(change),
        *_cooling(change),
        *_measures(change),
    )
    strictest: dict[tuple[str, str], Link] = {}
    for link in found:
        if link.before == link.after or (link.wish and not wishes):
            continue
        known = strictest.get((link.before, link.after), link)
        stricter = link if link.lag > known.lag else known
        strictest[link.before, link.after] = replace(stricter, wish=known.wish and link.wish)
    return tuple(strictest.values())


def _id(sort: Sort, subject: str) -> str:
    return task_id(sort, subject)


def _hosts(change: Change) -> Iterator[Link]:
    for machine in change.bought:
        prepared = _id(Sort.PREPARE, machine.name)
        yield Link(_id(Sort.BRING_IN, machine.name), prepared, Lag.SAME, "racked before it is installed")
        for name in change.arrivals(machine):
            yield Link(prepared, _id(Sort.MOVE, name), Lag.LATER, f"{machine.name} soaks 24 h first")
    for box in change.rebuilt:
        rebuilt = _id(Sort.REUSE, box)
        for name in change.arrivals(change.kept[box]):
            move = _id(Sort.MOVE, name)
            yield Link(rebuilt, move, Lag.SAME, f"{box} is rebuilt first")
            if name not in change.in_place:
                yield Link(rebuilt, move, Lag.LATER, f"{box} is rebuilt first, and runs for a day", wish=True)
            else:
                yield Link(_id(Sort.BACK_UP, name), rebuilt, Lag.SAME, f"{name} is backed up before")
        for name in change.leavers(box):
            yield Link(_id(Sort.MOVE, name), rebuilt, Lag.HELD, f"{name} must have left {box} for good")
    for box in change.replugged:
        for name in change.arrivals(change.kept[box]):
            because = f"{box} is plugged over first"
            yield Link(_id(Sort.REPLUG, box), _id(Sort.MOVE, name), Lag.SAME, because, wish=True)


def _services(change: Change, rings: tuple[Cycle, ...]) -> Iterator[Link]:
    broken = {edge for ring in rings for edge in ring.broken}
    for name in change.moved:
        yield Link(_id(Sort.BACK_UP, name), _id(Sort.MOVE, name), Lag.SAME, "backed up before it moves")
    for consumer, provider in dependencies(change.site, change.moved):
        if (consumer, provider) not in broken:
            lag = Lag.LATER if is_root(change.site, consumer, provider) else Lag.SAME
            pair, because = (consumer, provider), f"{consumer} depends on {provider}"
            is_direct = provider in change.site.service[consumer].depends_on
            before, after = _id(Sort.MOVE, provider), _id(Sort.MOVE, consumer)
            yield Link(before, after, lag, because, pair, wish=not is_direct)


def _boxes(change: Change) -> Iterator[Link]:
    for box in change.held:
        hold = _id(Sort.HOLD, box)
        for name in change.leavers(box):
            yield Link(_id(Sort.MOVE, name), hold, Lag.SAME, f"{name} runs on {box} until then")
        then = _id(Sort.REUSE if box in change.rebuilt else Sort.RETIRE, box)
        yield Link(hold, then, Lag.HELD, f"{box} is kept for rollback")


def _room_on_hosts(change: Change) -> Iterator[Link]:
    """Services that must not meet on a kept box: the one that leaves goes a wave before."""
    for machine in change.kept.values():
        if machine.box in change.rebuilt:
            continue
        for leaver in change.leavers(machine.box or ""):
            for arrival in change.arrivals(machine):
                reason = _no_meeting(change, leaver, arrival, machine.name)
                if reason:
                    yield Link(_id(Sort.MOVE, leaver), _id(Sort.MOVE, arrival), Lag.LATER, reason)


def _no_meeting(change: Change, leaver: str, arrival: str, machine: str) -> str:
    site, goal = change.site, change.goal[arrival]
    for rule in site.apart:
        if {leaver, arrival} <= rule.services:
            return f"{leaver} and {arrival} must not share {machine} ({rule.because})"
    zones = {site.service[name].zone for name in (leaver, arrival)}
    if len(zones) > 1 and len(zones) > goal.spec(site).zones:
        return f"{machine} carries {goal.spec(site).zones} zone, so {leaver} leaves before {arrival} comes"
    return ""


def _quorums(change: Change) -> Iterator[Link]:
    """Where a quorum must be no guests: one that stops being a guest goes before one that becomes it."""

    def is_guest(name: str, *, then: bool) -> bool:
        box = change.site.service[name].box
        role = change.goal[name].role if then else role_today(change.site, box)
        return role is Role.HOST

    for rule in change.site.quorums:
        names = [name for name in change.moved if name in rule.services]
        out = [n for n in names if is_guest(n, then=False) and not is_guest(n, then=True)]
        into = [n for n in names if not is_guest(n, then=False) and is_guest(n, then=True)]
        for before in out:
            for after in into:
                yield Link(_id(Sort.MOVE, before), _id(Sort.MOVE, after), Lag.SAME, rule.because)


def _cooling(change: Change) -> Iterator[Link]:
    cooler = [_id(Sort.COOLING_ON, name) for name in change.cooling_on]
    heat_falls = [_id(Sort.HOLD, box) for box in change.held]
    machines = [_id(Sort.BRING_IN, machine.name) for machine in change.bought]
    machines += [_id(Sort.REUSE, box) for box in change.rebuilt]
    for name in change.cooling_off:
        off = _id(Sort.COOLING_OFF, name)
        for before in cooler:
            yield Link(
                before, off, Lag.SAME, "the new way for the heat comes before the old one goes", wish=True
            )
        for before in heat_falls:
            yield Link(before, off, Lag.SAME, f"the heat falls before {name} goes", wish=True)
        for before in machines:
            yield Link(before, off, Lag.SAME, f"all machines are in before {name} goes", wish=True)
        for other in change.cooling_off:
            if other in change.site.cooling_option[name].requires:
                yield Link(off, _id(Sort.COOLING_OFF, other), Lag.SAME, f"{name} requires {other}")
    for name in change.cooling_on:
        yield from _required(change, name, change.site.cooling_option[name].requires, Sort.COOLING_ON)


def _measures(change: Change) -> Iterator[Link]:
    for name in change.measures:
        measure, applied = change.site.measure[name], _id(Sort.MEASURE, name)
        yield from _required(change, name, measure.requires, Sort.MEASURE)
        room, source = measure.room_effect, measure.source_effect
        if room is not None and room.leak_delta_m3_s < 0.0:
            for option in change.cooling_on:
                yield Link(
                    _id(Sort.COOLING_ON, option),
                    applied,
                    Lag.SAME,
                    "sealed after the air path is in",
                    wish=True,
                )
        if source is not None and (source.takes_out or source.power_delta_w < 0.0):
            for option in change.cooling_off:
                yield Link(
                    applied, _id(Sort.COOLING_OFF, option), Lag.SAME, "the heat falls before", wish=True
                )
        if measure.target in change.rebuilt:
            yield Link(_id(Sort.REUSE, measure.target), applied, Lag.SAME, "it is rebuilt first", wish=True)
        if measure.target in change.cooling_on and change.is_new_cooling(measure.target):
            yield Link(_id(Sort.COOLING_ON, measure.target), applied, Lag.SAME, "it must be there first")


def _required(change: Change, name: str, requires: frozenset[str], sort: Sort) -> Iterator[Link]:
    for other in sorted(requires):
        if other in change.measures:
            yield Link(_id(Sort.MEASURE, other), _id(sort, name), Lag.SAME, f"{name} requires {other}")
        elif other in change.cooling_on:
            yield Link(_id(Sort.COOLING_ON, other), _id(sort, name), Lag.SAME, f"{name} requires {other}")


def swaps(change: Change) -> list[tuple[str, str]]:
    """List pairs of tasks done in one go: what shuts out something that runs today, and its end."""
    found = []
    for coming, sort in [(n, Sort.COOLING_ON) for n in change.cooling_on] + [
        (n, Sort.MEASURE) for n in change.measures
    ]:
        for going in change.cooling_off:
            if coming != going and _exclude(change, coming, going):
                found.append((_id(sort, coming), _id(Sort.COOLING_OFF, going)))
    return found


def _exclude(change: Change, one: str, other: str) -> bool:
    def shut_out(name: str) -> frozenset[str]:
        site = change.site
        return (site.measure.get(name) or site.cooling_option[name]).excludes

    return other in shut_out(one) or one in shut_out(other)


def groups(change: Change) -> list[tuple[str, str]]:
    """List moves of services that must share a machine, do today and go to the same one: they go together."""
    found = []
    for rule in change.site.together:
        names = [name for name in change.moved if name in rule.services]
        homes = {change.site.service[name].box for name in rule.services}
        for one, other in combinations(names, 2):
            if len(homes) == 1 and change.goal[one].name == change.goal[other].name:
                found.append((_id(Sort.MOVE, one), _id(Sort.MOVE, other)))
    return found
