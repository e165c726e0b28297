"""Waves and orders: batches of blocks told as waves, each with its states, checks and way back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import networkx as nx

from planner.domain import practice
from planner.domain.order import Cycle, Sort, Task, task_id
from planner.domain.state import State
from planner.ledger import Ledger, ledger
from planner.moves.tasks.cycles import is_root
from planner.moves.tasks.deadlocks import broken_text
from planner.moves.tasks.downtime import downtime_notes
from planner.moves.tasks.limits import Strain, known, strains, worse_than
from planner.moves.tasks.states import Moment, moment
from planner.moves.tasks.tiers import TIER_NAMES, Tier, tier_of
from planner.moves.tasks.work_packages import ORDER, Block, Work

GATES = (
    "a full backup and a test restore are not older than 7 days",
    f"name records have lived on {practice.TTL_S} s at most since one old time to live",
    "way back, owner and deadline of this wave are written down",
    "heat, power and noise while old and new run side by side are looked at",
)
FIRST_GATES = (
    "the inventory holds dongles, cards, serial and phone lines, fixed addresses and licences",
    "CPU, memory, disk and network have been sampled for 2 to 4 weeks, better 30 days",
)
"""What must be true before any wave, and before the first (common practice)."""


@dataclass(frozen=True)
class Wave:
    """The tasks of one maintenance window, and the state, ledger and strains they bring.

    ``hours`` is attended work, ``way_back_h`` what undoing it takes. ``strains`` are limits that a step of
    the wave passes, ``breaches`` the same in words. ``start`` is None where no dates are given.
    """

    number: int
    name: str
    tasks: tuple[Task, ...]
    hours: float
    way_back_h: float
    go_no_go: tuple[str, ...]
    rollback: tuple[str, ...]
    cautions: tuple[str, ...]
    state_after: State
    ledger: Ledger
    rack_u: int
    strains: tuple[Strain, ...]
    breaches: tuple[str, ...]
    rollback_days: int = practice.HOLD_DAYS
    start: datetime | None = None
    end: datetime | None = None

    @property
    def moves(self) -> tuple[str, ...]:
        """The services it moves."""
        return tuple(task.subject for task in self.tasks if task.sort is Sort.MOVE)

    @property
    def rollback_deadline(self) -> datetime | None:
        """Until when the source machines stay intact and switched off."""
        if self.end is None:
            return None
        deadline = self.end.astimezone(UTC) + timedelta(days=self.rollback_days)
        return deadline.astimezone(self.end.tzinfo)


@dataclass(frozen=True)
class Order:
    """Waves from today to a state, the rings among the services, and what a person must know.

    ``given_up`` are (consumer, provider) whose order is not kept because both would wait for each other.
    """

    waves: tuple[Wave, ...]
    cycles: tuple[Cycle, ...]
    notes: tuple[str, ...]
    given_up: tuple[tuple[str, str], ...] = ()

    @property
    def breaches(self) -> tuple[str, ...]:
        """All that is strained on the way, in words."""
        return tuple(text for wave in self.waves for text in wave.breaches)


@dataclass(frozen=True)
class Dates:
    """When a wave is."""

    start: datetime
    end: datetime


def in_order(work: Work, batch: Set[str]) -> list[Block]:
    """Sort the blocks of a wave in the order in which they are done."""
    rank = {
        block.name: (block.name in work.late, max(ORDER[sort] for sort in block.sorts), index)
        for index, block in enumerate(work.blocks)
    }
    inside = work.graph.subgraph(batch)
    return [work.block[name] for name in nx.lexicographical_topological_sort(inside, key=rank.__getitem__)]


def steps(work: Work, done: Set[str], batch: Set[str]) -> Iterator[Moment]:
    """Build the moments of a wave: after each block, moved services still on both sides, and its end.

    ``done`` are ids of tasks of earlier waves, ``batch`` names of blocks.
    """
    now, doing = set(done), set[str]()
    for block in in_order(work, batch):
        now |= block.ids
        doing |= {task_id(Sort.MOVE, name) for name in block.moves}
        yield moment(work.change, now, doing)
    yield moment(work.change, now)


def baseline(work: Work) -> dict[tuple[str, str], float]:
    """Compute what now or the target asks of each limit at most: only what is worse strains on the way."""
    everything = frozenset(work.tasks)
    found: dict[tuple[str, str], float] = {}
    for now in (moment(work.change, work.past), moment(work.change, everything)):
        for key, value in known(strains(work.change.site, now)).items():
            found[key] = max(value, found.get(key, value))
    return found


def worst_strains(
    work: Work, moments: Iterator[Moment], base: dict[tuple[str, str], float]
) -> tuple[Strain, ...]:
    """Find the worst strain of each limit that is passed in some moments, beyond a baseline."""
    worst: dict[tuple[str, str], Strain] = {}
    for now in moments:
        for item in worse_than(base, strains(work.change.site, now, work.change.target)):
            key = item.rule, item.where
            worst[key] = max(item, worst.get(key, item), key=lambda strain: strain.value)
    return tuple(worst.values())


def build_order(
    work: Work,
    batches: Sequence[Set[str]],
    dates: Sequence[Dates] | None = None,
    notes: tuple[str, ...] = (),
    first: int = 1,
) -> Order:
    """Tell batches of blocks as an order from wave ``first`` on; empty batches are no waves.

    ``dates`` go with the batches.
    """
    waves: list[Wave] = []
    done = set(work.past)
    base = baseline(work)
    for index, batch in enumerate(batches):
        if batch:
            when = dates[index] if dates is not None else None
            waves.append(_wave(work, len(waves) + first, frozenset(done), batch, when, base))
            done |= {id_ for name in batch for id_ in work.block[name].ids}
    said = (*work.knots, *_ring_notes(work), *downtime_notes(work), *notes)
    return Order(tuple(waves), work.cycles, said, work.untied.given_up)


def build_listed_order(
    work: Work,
    lists: Sequence[Sequence[Task]],
    dates: Sequence[Dates] | None = None,
    *,
    notes: tuple[str, ...] = (),
    first: int = 1,
    done: Set[str] = frozenset(),
) -> Order:
    """Tell waves whose tasks are done in the order in which they are listed, whatever the blocks are.

    ``done`` are ids of tasks of earlier waves. Dependencies that are not kept are given up, and said.
    """
    waves, before = [], set(done)
    for index, tasks in enumerate(lists):
        batch = {work.of_task[task.id] for task in tasks if task.id in work.of_task}
        when = dates[index] if dates is not None else None
        waves.append(_listed(work, first + index, before, batch, tuple(tasks), when))
        before |= {task.id for task in tasks}
    given_up = tuple(sorted({*work.untied.given_up, *_out_of_turn(work, waves, done)}))
    fresh = (pair for pair in given_up if pair not in work.untied.given_up)
    said = (*work.knots, *map(broken_text, fresh), *_ring_notes(work), *downtime_notes(work), *notes)
    return Order(tuple(waves), work.cycles, said, given_up)


def _out_of_turn(work: Work, waves: Sequence[Wave], done: Set[str]) -> Iterator[tuple[str, str]]:
    """Find (consumer, provider) where the consumer moves before its provider, or too soon after it."""
    place = {name: (wave, number) for wave in waves for number, name in enumerate(wave.moves)}
    rings = [frozenset(ring.moving) for ring in work.cycles]
    broken = {pair for ring in work.cycles for pair in ring.broken}
    for consumer, (wave, number) in place.items():
        for provider in work.change.site.service[consumer].depends_on:
            if provider == consumer or provider not in work.change.moved or (consumer, provider) in broken:
                continue
            if provider not in place:
                if task_id(Sort.MOVE, provider) not in done:
                    yield consumer, provider
                continue
            other, before = place[provider]
            if (other.number, before) > (wave.number, number):
                if other is not wave or not any({consumer, provider} <= ring for ring in rings):
                    yield consumer, provider
            elif is_root(work.change.site, consumer, provider) and not _a_day_after(other, wave):
                yield consumer, provider


def _a_day_after(one: Wave, other: Wave) -> bool:
    if one.end is None or other.start is None:
        return other.number > one.number
    return other.start.astimezone(UTC) - one.end.astimezone(UTC) >= timedelta(hours=practice.DAY_H)


def _wave(
    work: Work,
    number: int,
    done: Set[str],
    batch: Set[str],
    when: Dates | None,
    base: dict[tuple[str, str], float],
) -> Wave:
    listed = tuple(task for block in in_order(work, batch) for task in block.tasks)
    found = worst_strains(work, steps(work, done, batch), base)
    return _listed(work, number, done, batch, listed, when, found)


def _listed(
    work: Work,
    number: int,
    done: Set[str],
    batch: Set[str],
    listed: tuple[Task, ...],
    when: Dates | None,
    found: tuple[Strain, ...] = (),
) -> Wave:
    """Build the wave of some tasks as they are listed; ``batch`` are the blocks they are of."""
    after = moment(work.change, done | {task.id for task in listed})
    gates = (*(FIRST_GATES if number == 1 else ()), *GATES)
    return Wave(
        number=number,
        name=wave_name(work, batch),
        tasks=listed,
        hours=sum(task.hours for task in listed),
        way_back_h=sum(task.way_back_h for task in listed),
        go_no_go=_once((*gates, *(text for task in listed for text in task.go_no_go))),
        rollback=_once([task.rollback for task in reversed(listed) if task.rollback]),
        cautions=_once([caution for task in listed for caution in task.cautions]),
        state_after=after.state,
        ledger=ledger(work.change.site, after.state),
        rack_u=after.rack_u,
        strains=found,
        breaches=tuple(f"during wave {number} {item.text}" for item in found),
        start=when.start if when else None,
        end=when.end if when else None,
    )


def _once(texts: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


def wave_name(work: Work, batch: Set[str]) -> str:
    """Look up the name of a wave by what it moves, or by what it does where it moves nothing."""
    moving = [tier_of(work, name) for name in batch if work.block[name].moves]
    if moving:
        return TIER_NAMES[min(moving)]
    sorts = {sort for name in batch for sort in work.block[name].sorts}
    if sorts & {Sort.BRING_IN, Sort.PREPARE, Sort.REUSE, Sort.COOLING_ON, Sort.REPLUG}:
        return TIER_NAMES[Tier.INFRASTRUCTURE]
    if sorts & {Sort.MEASURE, Sort.COOLING_OFF}:
        return "Quieting"
    return TIER_NAMES[Tier.LAST]


def _ring_notes(work: Work) -> tuple[str, ...]:
    return tuple(ring.text for ring in work.cycles)
