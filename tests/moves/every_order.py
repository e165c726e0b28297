"""Every order of a small work, walked task by task on the judge's simulated room: no links, blocks or steps.

Tasks of a wave are put one after the other, each wave may end after any of them. A place in the search is
what was done before the wave and what is done now, for the judge's simulated room depends on nothing else,
but that a row of switched measures and cooling may be in a state that is only judged at its end.
Dependencies are given up: the judge lets any order do so that says it. Backups and setting up change nothing
in the room and are done at once with what they are for.

By hand: ``python -m tests.moves.every_order --count 3000 --seed 0`` sets the search for any order against it.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from planner.domain.order import Sort, Task, WrittenOrder, WrittenWave, task_id
from planner.moves.exhaustive.any_order import AnyOrder
from planner.moves.tasks.work_packages import Work
from planner.verify import SimulatedRoom, after_wave, simulate_today, verify_order
from planner.verify.moves.effects import TASK_EFFECTS
from planner.verify.moves.replay import SWITCHING, _judged
from tests.moves.tiny_works import tiny_work

SILENT = frozenset({Sort.BACK_UP, Sort.PREPARE})
Place = tuple[frozenset[str], frozenset[str], bool]


LATE = 1_000_000
"""The number of a wave that is still being put together: after all others."""


class TooLargeError(Exception):
    """There are more places to look at than asked for."""


@dataclass
class EveryOrder:
    """A search over all orders of a work; ``most`` places are looked at before it gives up."""

    work: Work
    most: int = 40_000
    seen: set[Place] = field(default_factory=set)
    given_up: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        """Make up every dependency."""
        services = self.work.change.site.services
        self.given_up = tuple((item.name, other) for item in services for other in item.depends_on)
        self.tasks = {i: t for i, t in self.work.tasks.items() if t.sort not in SILENT}

    def search(self) -> tuple[WrittenWave, ...] | None:
        """List the waves of the first order found, None for none; TooLargeError when it takes too long."""
        site, state = self.work.change.site, self.work.change.target
        whole = WrittenOrder(
            (WrittenWave(0, tuple(self.work.tasks.values())),), self.work.cycles, self.given_up
        )
        found = self._from(simulate_today(site, state, whole), frozenset(), 1)
        if found is not None:
            order = WrittenOrder(found, self.work.cycles, self.given_up)
            assert verify_order(site, state, order) == ()
        return found

    def _from(self, room: SimulatedRoom, done: frozenset[str], number: int) -> tuple[WrittenWave, ...] | None:
        """Search from the end of a wave."""
        if len(done) == len(self.tasks):
            return ()
        for tasks in self._waves(room, done, done, ()):
            wave = WrittenWave(number, tasks)
            after, breaches = after_wave(room, wave, None)
            if not breaches:
                now = done | {task.id for task in tasks if task.sort not in SILENT}
                rest = self._from(after, now, number + 1) if self._is_new((now, now, False)) else None
                if rest is not None:
                    return (wave, *rest)
        return None

    def _waves(
        self,
        room: SimulatedRoom,
        before: frozenset[str],
        done: frozenset[str],
        tasks: tuple[Task, ...],
        *,
        is_open: bool = False,
    ) -> Iterator[tuple[Task, ...]]:
        """List every beginning of a wave whose steps the judge passes; whether it may end there is not asked.

        ``is_open``: the last step has switched to a state that only further switching can make good.
        """
        for id_, task in self.tasks.items():
            if id_ in done or (is_open and task.sort not in SWITCHING):
                continue
            steps = (*self._backups(task, room), task, *self._set_up(task))
            after, opens = self._done(room, (*tasks, *steps), steps)
            now = done | {id_}
            if after is None or not self._is_new((before, now, opens)):
                continue
            if not opens:
                yield (*tasks, *steps)
            yield from self._waves(after, before, now, (*tasks, *steps), is_open=opens)

    def _backups(self, task: Task, room: SimulatedRoom) -> Iterator[Task]:
        change = self.work.change
        names = [task.subject] if task.sort is Sort.MOVE else []
        if task.sort is Sort.REUSE:
            names = [name for name in change.residents[task.subject] if name in change.in_place]
        for name in names:
            if name not in room.backed_up:
                yield self.work.tasks[task_id(Sort.BACK_UP, name)]

    def _set_up(self, task: Task) -> Iterator[Task]:
        if task.sort is Sort.BRING_IN:
            yield self.work.tasks[task_id(Sort.PREPARE, task.subject)]

    def _done(
        self, room: SimulatedRoom, tasks: tuple[Task, ...], steps: tuple[Task, ...]
    ) -> tuple[SimulatedRoom | None, bool]:
        """Do some tasks; None where the judge finds anything that no further switching can make good."""
        after = room.copy()
        moves = tuple(task for task in self.tasks.values() if task.sort is Sort.MOVE)
        wave = WrittenWave(LATE, (*tasks, *(task for task in moves if task not in tasks)))
        for step in steps:
            if list(TASK_EFFECTS[step.sort](after, step, wave)):
                return None, False
        is_bad = bool(list(_judged(after, wave)))
        if is_bad and steps[-1].sort not in SWITCHING:
            return None, False
        return after, is_bad

    def _is_new(self, place: Place) -> bool:
        if place in self.seen:
            return False
        self.seen.add(place)
        if len(self.seen) > self.most:
            raise TooLargeError
        return True


def compared(first: int, count: int) -> tuple[Counter[str], list[int]]:
    """Search ``count`` works from a seed on both ways: how many have an order, and the seeds that differ."""
    told, differ = Counter[str](), list[int]()
    seed = first
    while told.total() < count:
        work = tiny_work(seed)
        if work is not None:
            true = EveryOrder(work).search() is not None
            found = AnyOrder(work).search()
            told["with an order" if true else "without"] += 1
            if true != (found.steps is not None) or true == found.is_proof:
                differ.append(seed)
        seed += 1
    return told, differ


def main() -> None:
    """Compare from the command line; exit code 1 where the two differ."""
    parser = argparse.ArgumentParser(
        description="Any order found, or proven not to exist, against all orders."
    )
    parser.add_argument("--count", type=int, default=300, help="how many works")
    parser.add_argument("--seed", type=int, default=0, help="the first seed")
    asked = parser.parse_args()
    told, differ = compared(asked.seed, asked.count)
    print(f"works: {dict(sorted(told.items()))}; seeds that differ: {differ}")
    raise SystemExit(1 if differ else 0)


if __name__ == "__main__":
    main()
