"""Packs the steps of an order into waves by next fit: each as early as the judge, hours and money let it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cached_property

from planner.domain.order import Sort, Task, WrittenWave
from planner.moves.exhaustive.any_order import Step
from planner.moves.grid.monthly_budget import month_of
from planner.moves.grid.slots import CENT
from planner.moves.grid.windows import Window
from planner.verify import SimulatedRoom, after_wave

MOST_UNDATED = 10_000


MOST_AHEAD = 60
"""So many windows after a backup are looked at: with eight a day they are those of a week."""


@dataclass(frozen=True)
class Part:
    """Tasks that are done in one wave; ``awaited`` must follow before their backups are old."""

    tasks: Step
    awaited: Step = ()


@dataclass
class NextFit:
    """A room to begin from, and what limits the waves to come.

    ``windows`` is None for waves without dates, which are ``hours`` long. ``spent`` is by month, ``monthly``
    what a month has. ``not_before`` is by task.
    """

    room: SimulatedRoom
    past: Sequence[WrittenWave]
    windows: Sequence[Window] | None
    hours: float
    crew: int = 1
    monthly: float | None = None
    spent: dict[int, float] = field(default_factory=dict)
    not_before: Mapping[str, datetime] = field(default_factory=dict)

    def pack(self, steps: Sequence[Step]) -> tuple[WrittenWave, ...] | None:
        """Pack steps in their order; None where the windows do not take all of them."""
        left = [part for step in steps for part in self._parts(step)]
        room, before = self.room, self.past[-1] if self.past else None
        waves: list[WrittenWave] = []
        for index, empty in enumerate(self._empty):
            if not left:
                break
            fresh = WrittenWave(len(self.past) + len(waves) + 1, (), empty.start, empty.end)
            room, wave, count = self._fill(room, before, fresh, left, index)
            if count:
                before, left = wave, left[count:]
                waves.append(wave)
                month = _month(wave)
                self.spent[month] = self.spent.get(month, 0.0) + sum(task.price for task in wave.tasks)
        return None if left else tuple(waves)

    @cached_property
    def _empty(self) -> Sequence[WrittenWave]:
        if self.windows is not None:
            return [WrittenWave(0, (), window.start, window.end) for window in self.windows]
        return [WrittenWave(0, ())] * MOST_UNDATED

    def _fill(
        self,
        room: SimulatedRoom,
        before: WrittenWave | None,
        wave: WrittenWave,
        left: Sequence[Part],
        index: int,
    ) -> tuple[SimulatedRoom, WrittenWave, int]:
        """Put into a wave what it takes: the room after it, the wave, and how many parts it took."""
        best, count = (room, wave), 0
        for part in left:
            longer = replace(wave, tasks=(*best[1].tasks, *part.tasks))
            if not self._may(longer) or (count and not self._fits(longer)):
                break
            after, breaches = after_wave(room, longer, before)
            if breaches or (part.awaited and not self._is_in_time(after, longer, part.awaited, index)):
                break
            best, count = (after, longer), count + 1
        return (*best, count)

    def _is_in_time(self, room: SimulatedRoom, wave: WrittenWave, awaited: Step, index: int) -> bool:
        """Say whether what was backed up in a window can be moved in a later one before the backup is old."""
        for later in self._empty[index + 1 : index + 1 + MOST_AHEAD]:
            then = WrittenWave(wave.number + 1, awaited, later.start, later.end)
            if self._may(then) and not after_wave(room, then, wave)[1]:
                return True
        return False

    def _may(self, wave: WrittenWave) -> bool:
        """Say whether money and what was moved to a later day allow a wave; both ask for dates."""
        if wave.start is None:
            return True
        start = wave.start.astimezone(UTC)
        if any(self.not_before.get(task.id, start) > start for task in wave.tasks):
            return False
        price = sum(task.price for task in wave.tasks)
        return (
            not price
            or self.monthly is None
            or self.spent.get(_month(wave), 0.0) + price <= self.monthly + CENT
        )

    def _fits(self, wave: WrittenWave) -> bool:
        """Say whether a wave without dates is short enough; of one with dates the judge says so."""
        return wave.start is not None or _hours(wave.tasks) <= self.hours * self.crew

    def _parts(self, step: Step) -> Iterator[Part]:
        """Part what need not be done in one go: setting up, and backups where all together is too long."""
        if step[0].sort is Sort.BRING_IN:
            yield from (Part((task,)) for task in step)
            return
        backups = tuple(task for task in step if task.sort is Sort.BACK_UP)
        if backups and self.windows is not None and _hours(step) > self.hours * self.crew:
            rest = tuple(task for task in step if task.sort is not Sort.BACK_UP)
            yield Part(backups, awaited=rest)
            yield Part(rest)
        else:
            yield Part(step)


def _hours(tasks: Sequence[Task]) -> float:
    return sum(task.hours + task.way_back_h for task in tasks)


def _month(wave: WrittenWave) -> int:
    return 0 if wave.start is None else month_of(wave.start)
