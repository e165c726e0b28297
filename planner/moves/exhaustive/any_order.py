"""Searches any order at all, step by step on the judge's simulated room: depth-first over sets of tasks done.

The state of a room depends on what is done and not on the way there, so each set is visited once, and a
search that comes to its end without an order proves that there is none. Each step is a wave of its own: a
wave that can be parted where its services have let go of their old machines is never better whole. What can
only be done in one go is a step of several tasks: services that must share a machine, that depend on each
other, or whose box is rebuilt under them, and measures and cooling that are switched at once.

Why so: good practice gives way, and 'no order exists' is proven by trying. Links are rules of the judge or
wishes. Where quick schedules with all wishes fail (`tracking.order_in_use`), any order is searched. Its end
without an order is the only proof that there is none (exit code 1); a search that is cut off proves nothing
(4). ``python -m tests.moves.every_order --count 3000`` holds it against every order of small works. An
order that is found so is packed into the windows by next fit, but not made better.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import networkx as nx

from planner.domain.order import Sort, Task, WrittenOrder, WrittenWave, task_id
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.work_packages import ORDER, Work
from planner.verify import Seen, SimulatedRoom, after_wave, simulate_today

Step = tuple[Task, ...]
SWITCHES = frozenset({Sort.MEASURE, Sort.COOLING_ON, Sort.COOLING_OFF})
APART = frozenset({Sort.BACK_UP, Sort.PREPARE})
"""What may be done in another wave than what it is for."""

SLACK_H = 0.02
"""How much longer than its window a task may be for the search: more than the judge lets pass."""

MOST_SWITCHES = 8
"""With more tasks to be switched, not every set of them is tried in one go, and nothing is proven."""

UNBOUND = float("inf")


@dataclass(frozen=True)
class SearchEnd:
    """What a search came to: the steps of an order, or none; ``is_proof``: then there is none at all.

    ``reason`` says why a search that came to its end without an order is no proof.
    """

    steps: tuple[Step, ...] | None
    is_proof: bool = False
    given_up: tuple[tuple[str, str], ...] = ()
    reason: str = ""


@dataclass
class AnyOrder:
    """A work that is to be ordered from where the waves that stand already have led.

    ``most_h`` and ``crew_h`` are the longest that a task, and that all of a wave, may take. What may be done
    another time, backups and setting up, does not count: a search that finds none is the surer a proof.
    ``judged`` keeps what the judge found of states.
    """

    work: Work
    past: Sequence[WrittenWave] = ()
    done: Set[str] = frozenset()
    most_h: float = UNBOUND
    crew_h: float = UNBOUND
    until: float = UNBOUND
    cancel: threading.Event | None = None
    judged: dict[object, Seen] = field(default_factory=dict)

    def search(self) -> SearchEnd:
        """Search an order that keeps what services depend on, then one that gives that up."""
        pairs = self.work.untied.given_up
        steps = self._search_with(pairs)
        if steps is not None:
            return SearchEnd(steps, given_up=pairs)
        every = tuple(sorted(_depending(self.work.change)))
        if not self._is_over and set(every) - set(pairs):
            pairs = every
            steps = self._search_with(every)
        is_ended = steps is None and not self._is_over
        reason = "" if self._is_whole or not is_ended else self._untried
        return SearchEnd(steps, is_ended and self._is_whole, pairs, reason)

    @property
    def _is_over(self) -> bool:
        return time.monotonic() > self.until or (self.cancel is not None and self.cancel.is_set())

    @cached_property
    def _open(self) -> dict[str, Task]:
        """The tasks left, by id."""
        return {id_: task for id_, task in self.work.tasks.items() if id_ not in self.done}

    @cached_property
    def _switched(self) -> tuple[Task, ...]:
        return tuple(task for task in self._open.values() if task.sort in SWITCHES)

    @property
    def _is_whole(self) -> bool:
        """Say whether all that could be done in one go is tried."""
        return len(self._switched) <= MOST_SWITCHES

    @property
    def _untried(self) -> str:
        """Say what was not tried."""
        return (
            f"no order was found, and that there is none is not proven: not every set of the "
            f"{len(self._switched)} measures and cooling options left was tried in one go, only those of "
            f"{MOST_SWITCHES} at most."
        )

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Every step that takes no longer than there is time for, what is switched at once left out."""
        found = dict.fromkeys(filter(None, _steps(self.work, self._open)))
        return tuple(step for step in found if self._has_time(step))

    @property
    def too_long(self) -> Iterator[Step]:
        """What no window takes: a task by itself, or the least that can only be done in one go with it."""
        found = [_timed(step) for step in filter(None, _steps(self.work, self._open))]
        for task in self._open.values():
            if _hours((task,)) > self.most_h + SLACK_H:
                yield (task,)
                continue
            least = min((step for step in found if task in step), key=_hours, default=())
            if _hours(least) > self.crew_h + SLACK_H * len(least):
                yield least

    def _has_time(self, step: Step) -> bool:
        every = [task.hours + task.way_back_h for task in step]
        slack = SLACK_H * len(step)
        return _hours(_timed(step)) <= self.crew_h + slack and max(every) <= self.most_h + slack

    def simulate_past(self, given_up: tuple[tuple[str, str], ...]) -> SimulatedRoom:
        """Walk the waves that stand: the room from which the rest begins, with dependencies given up."""
        moving = WrittenWave(0, tuple(self.work.tasks.values()))
        order = WrittenOrder((moving,), self.work.cycles, given_up)
        room, before = simulate_today(self.work.change.site, self.work.change.target, order), None
        room.judged = self.judged
        for wave in self.past:
            room, _ = after_wave(room, wave, before)
            before = wave
        return room

    def _search_with(self, given_up: tuple[tuple[str, str], ...]) -> tuple[Step, ...] | None:
        """Go depth-first, the most wished-for step first; None where no way leads to the end in time."""
        room, every = self.simulate_past(given_up), frozenset(self._open)
        nothing: frozenset[str] = frozenset()
        visited = {nothing}
        path: list[tuple[Step, frozenset[str], Iterator[tuple[Step, SimulatedRoom]]]] = []
        path.append(((), nothing, self._onward(room, nothing)))
        while path and not self._is_over:
            _, done, onward = path[-1]
            if done == every:
                return tuple(step for step, _, _ in path if step)
            found = next(onward, None)
            if found is None:
                path.pop()
                continue
            step, after = found
            then = done | {task.id for task in step}
            if then not in visited:
                visited.add(then)
                path.append((step, then, self._onward(after, then)))
        return None

    def _onward(self, room: SimulatedRoom, done: frozenset[str]) -> Iterator[tuple[Step, SimulatedRoom]]:
        """Try every step from where a room is, and give those that the judge passes; a free one alone."""
        number = len(self.past) + len(done) + 1
        ready = [step for step in self.steps if self._is_ready(step, done)]
        for step in sorted(ready, key=lambda step: self._rank(step, done)):
            if self._is_over:
                return
            after, breaches = after_wave(room, WrittenWave(number, step), None)
            if not breaches:
                yield step, after
                if self._is_free(step):
                    return
        yield from self._at_once(room, done, number)

    def _at_once(
        self, room: SimulatedRoom, done: frozenset[str], number: int
    ) -> Iterator[tuple[Step, SimulatedRoom]]:
        """Try what is switched in one go, few at a time first, where no part of it can be done before."""
        left = [task for task in self._switched if task.id not in done and self._has_time((task,))]
        possible: list[frozenset[str]] = []
        for size in range(1, min(len(left), MOST_SWITCHES) + 1):
            for chosen in combinations(left, size):
                ids = frozenset(task.id for task in chosen)
                if self._is_over:
                    return
                if any(part <= ids for part in possible) or not self._has_time(chosen):
                    continue
                after, breaches = after_wave(room, WrittenWave(number, chosen), None)
                if not breaches:
                    possible.append(ids)
                    yield chosen, after

    def _is_ready(self, step: Step, done: frozenset[str]) -> bool:
        """Say whether a step is left, and what the judge surely asks for is done before it."""
        ids = {task.id for task in step}
        if ids & done:
            return False
        return all(need in done or need in ids or need not in self._open for need in self._needs[step])

    @cached_property
    def _needs(self) -> Mapping[Step, frozenset[str]]:
        return {step: frozenset(_needs(self.work.change, step)) for step in self.steps}

    def _is_free(self, step: Step) -> bool:
        """Say whether a step only makes room: done as soon as it can be, it stands in the way of nothing."""
        sorts = {task.sort for task in step}
        return sorts <= {Sort.RETIRE} or (
            sorts <= {Sort.HOLD} and not self.work.change.site.policy.spare_hosts
        )

    def _rank(self, step: Step, done: frozenset[str]) -> tuple[bool, int, int, str]:
        """Order steps: what makes room first, then by links that are not kept, then by sort."""
        ids = {task.id for task in step}
        broken = sum(
            before not in done and before not in ids
            for task in step
            for before in self._before.get(task.id, ())
        )
        return (not self._is_free(step), broken, min(ORDER[task.sort] for task in step), step[-1].id)

    @cached_property
    def _before(self) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, list[str]] = {}
        for link in self.work.links:
            if link.before in self._open:
                found.setdefault(link.after, []).append(link.before)
        return {after: tuple(before) for after, before in found.items()}


def _timed(step: Step) -> Step:
    """Leave out what may be done another time, if anything is left then."""
    return tuple(task for task in step if task.sort not in APART) or step


def _hours(step: Step) -> float:
    return sum(task.hours + task.way_back_h for task in step)


def _steps(work: Work, left: Mapping[str, Task]) -> Iterator[Step]:
    """List the steps: tasks by themselves, and those that can only be done in one go."""
    change = work.change

    def of(*named: tuple[Sort, str]) -> Step:
        return tuple(left[task_id(*name)] for name in named if task_id(*name) in left)

    def moving(names: Sequence[str]) -> Iterator[tuple[Sort, str]]:
        for name in names:
            yield Sort.BACK_UP, name
        for name in names:
            yield Sort.MOVE, name

    for machine in change.bought:
        yield of((Sort.BRING_IN, machine.name), (Sort.PREPARE, machine.name))
    for box in change.rebuilt:
        under = [name for name in change.residents[box] if name in change.in_place]
        backups = [(Sort.BACK_UP, name) for name in under]
        yield of(*backups, (Sort.REUSE, box), *((Sort.MOVE, name) for name in under))
    for names in _moving_together(work):
        if not set(names) & change.in_place and all(task_id(Sort.MOVE, name) in left for name in names):
            yield of(*moving(names))
    singles = {Sort.HOLD, Sort.RETIRE, Sort.REPLUG}
    for task in left.values():
        if task.sort in singles:
            yield (task,)


def _moving_together(work: Work) -> Iterator[tuple[str, ...]]:
    """List the services that may move in one go, by themselves first, each after what it depends on."""
    change = work.change
    for name in change.moved:
        yield (name,)
    graph: nx.Graph[str] = nx.Graph()
    for rule in change.site.together:
        graph.add_edges_from((one, other) for one in rule.services for other in rule.services)
    rank = {name: number for number, name in enumerate(_by_dependency(work))}
    groups = [set(group) & set(change.moved) for group in nx.connected_components(graph)]
    groups += [set(block.moves) for block in work.blocks]
    for group in groups:
        if len(group) > 1:
            yield tuple(sorted(group, key=rank.__getitem__))


def _by_dependency(work: Work) -> list[str]:
    """Sort the moved services: what others depend on first; in a ring by name."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(work.change.moved)
    graph.add_edges_from((provider, consumer) for consumer, provider in _depending(work.change))
    rings = nx.condensation(graph)
    order = nx.lexicographical_topological_sort(rings, key=lambda ring: min(rings.nodes[ring]["members"]))
    return [name for ring in order for name in sorted(rings.nodes[ring]["members"])]


def _depending(change: Change) -> Iterator[tuple[str, str]]:
    """List (consumer, provider) of services that both move."""
    moved = set(change.moved)
    for name in change.moved:
        for provider in change.site.service[name].depends_on:
            if provider in moved and provider != name:
                yield name, provider


def _needs(change: Change, step: Step) -> Iterator[str]:
    """List the ids that must be done before a step: without them the judge refuses it for certain."""
    for task in step:
        if task.sort is Sort.MOVE:
            goal = change.goal[task.subject]
            if goal.kind is not None:
                yield task_id(Sort.PREPARE, goal.name)
        elif task.sort in (Sort.HOLD, Sort.REUSE):
            yield from (task_id(Sort.MOVE, name) for name in change.leavers(task.subject))
        if task.sort is Sort.RETIRE or (task.sort is Sort.REUSE and task.subject in change.held):
            yield task_id(Sort.HOLD, task.subject)
