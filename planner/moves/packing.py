"""Packs the steps of an order into waves by next fit: each as early as the judge, hours and money let it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime

from planner.moves.anyorder import Step
from planner.moves.spending import month_of
from planner.moves.waves import CENT
from planner.moves.windows import Window
from planner.order import Sort, Task, WrittenWave
from planner.verify import Picture, after_wave

MOST_UNDATED = 10_000


@dataclass
class Packing:
    """A picture to begin from, and what limits the waves to come.

    ``windows`` is None for waves without dates, which are ``hours`` long. ``spent`` is by month, ``monthly``
    what a month has. ``not_before`` is by task.
    """

    room: Picture
    past: Sequence[WrittenWave]
    windows: Sequence[Window] | None
    hours: float
    crew: int = 1
    monthly: float | None = None
    spent: Mapping[int, float] = field(default_factory=dict)
    not_before: Mapping[str, datetime] = field(default_factory=dict)

    def packed(self, steps: Sequence[Step]) -> tuple[WrittenWave, ...] | None:
        """Pack steps in their order; None where the windows do not take all of them."""
        left = [part for step in steps for part in self._parts(step)]
        room, before = self.room, self.past[-1] if self.past else None
        waves: list[WrittenWave] = []
        spent = dict(self.spent)
        for empty in self._waves():
            if not left:
                break
            room, wave, count = self._filled(room, before, self._renumbered(empty, len(waves)), left, spent)
            if count:
                before, left = wave, left[count:]
                waves.append(wave)
                month = _month(wave)
                spent[month] = spent.get(month, 0.0) + sum(task.price for task in wave.tasks)
        return None if left else tuple(waves)

    def _renumbered(self, wave: WrittenWave, count: int) -> WrittenWave:
        return WrittenWave(len(self.past) + count + 1, (), wave.start, wave.end)

    def _waves(self) -> Iterator[WrittenWave]:
        if self.windows is not None:
            yield from (WrittenWave(0, (), window.start, window.end) for window in self.windows)
        else:
            yield from (WrittenWave(0, ()) for _ in range(MOST_UNDATED))

    def _filled(
        self,
        room: Picture,
        before: WrittenWave | None,
        wave: WrittenWave,
        left: Sequence[Step],
        spent: Mapping[int, float],
    ) -> tuple[Picture, WrittenWave, int]:
        """Put into a wave what it takes: the picture after it, the wave, and how many parts it took."""
        best, count = (room, wave), 0
        for part in left:
            longer = WrittenWave(wave.number, (*best[1].tasks, *part), wave.start, wave.end)
            if not self._may(longer, spent) or (count and not self._fits(longer)):
                break
            after, breaches = after_wave(room, longer, before)
            if breaches:
                break
            best, count = (after, longer), count + 1
        return (*best, count)

    def _may(self, wave: WrittenWave, spent: Mapping[int, float]) -> bool:
        """Say whether money and what was moved to a later day allow a wave; both ask for dates."""
        if wave.start is None:
            return True
        start = wave.start.astimezone(UTC)
        if any(self.not_before.get(task.id, start) > start for task in wave.tasks):
            return False
        price = sum(task.price for task in wave.tasks)
        return (
            not price or self.monthly is None or spent.get(_month(wave), 0.0) + price <= self.monthly + CENT
        )

    def _fits(self, wave: WrittenWave) -> bool:
        """Say whether a wave without dates is short enough; of one with dates the judge says so."""
        return wave.start is not None or _hours(wave.tasks) <= self.hours * self.crew

    def _parts(self, step: Step) -> Iterator[Step]:
        """Part what need not be done in one go: setting up, and backups where all together is too long."""
        if step[0].sort is Sort.BRING_IN:
            yield from ((task,) for task in step)
        elif _hours(step) > self.hours * self.crew:
            backups = tuple(task for task in step if task.sort is Sort.BACK_UP)
            yield from ((task,) for task in backups)
            yield tuple(task for task in step if task.sort is not Sort.BACK_UP)
        else:
            yield step


def _hours(tasks: Sequence[Task]) -> float:
    return sum(task.hours + task.way_back_h for task in tasks)


def _month(wave: WrittenWave) -> int:
    return 0 if wave.start is None else month_of(wave.start)
