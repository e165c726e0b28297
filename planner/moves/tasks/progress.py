"""What has been done of an order, what was read after its waves, and what is to come."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from enum import StrEnum

from planner.moves.tasks.readings import Reading, latest
from planner.moves.tasks.wave import Wave


class Mark(StrEnum):
    """What became of a wave: done, or failed or rolled back (nothing of it stands), or moved to later."""

    DONE = "done"
    FAILED = "failed"
    ROLLED_BACK = "rolled back"
    MOVED = "moved"


@dataclass(frozen=True)
class Entry:
    """One mark: the wave's number then, its tasks by id, when it was over, and a word of the person's.

    Of a wave that was moved, ``at`` is the moment before which it is not done.
    """

    wave: int
    mark: Mark
    tasks: tuple[str, ...]
    at: datetime
    note: str = ""


@dataclass(frozen=True)
class Booked:
    """A wave of the order that is worked from: its number, its tasks by id, its dates where it has some."""

    wave: int
    tasks: tuple[str, ...]
    start: datetime | None = None
    end: datetime | None = None


@dataclass(frozen=True)
class Progress:
    """All marks and readings as they were made, and the waves that were to come when last looked at."""

    entries: tuple[Entry, ...] = ()
    order: tuple[Booked, ...] = ()
    readings: tuple[Reading, ...] = ()

    @property
    def done(self) -> dict[str, datetime]:
        """The tasks that stand, each with when it was done; a later mark on a task counts."""
        found: dict[str, datetime] = {}
        for entry in self.entries:
            for id_ in entry.tasks:
                if entry.mark is Mark.DONE:
                    found[id_] = entry.at
                elif entry.mark is not Mark.MOVED:
                    found.pop(id_, None)
        return found

    @property
    def standing(self) -> tuple[Entry, ...]:
        """The marks of the waves that stand, in the order in which they were made."""
        last = {entry.tasks: entry for entry in self.entries if entry.mark is not Mark.MOVED}
        return tuple(entry for entry in last.values() if entry.mark is Mark.DONE)

    @property
    def waves_done(self) -> int:
        """The number of waves that stand."""
        return len(self.standing)

    @property
    def not_before(self) -> dict[str, datetime]:
        """The tasks whose wave was moved to later, each with the moment before which it is not done."""
        done = self.done
        moved = [entry for entry in self.entries if entry.mark is Mark.MOVED]
        return {id_: entry.at for entry in moved for id_ in entry.tasks if id_ not in done}

    def marked(self, wave: Wave, mark: Mark, at: datetime, note: str = "") -> Progress:
        """Build the progress with one more mark; ValueError when ``at`` has no time zone."""
        if at.tzinfo is None:
            raise ValueError("a mark needs a time with a time zone")
        tasks = tuple(task.id for task in wave.tasks)
        entry = Entry(wave.number, mark, tasks, at.astimezone(UTC), note)
        return replace(self, entries=(*self.entries, entry))

    def read_after(self) -> dict[int, Reading]:
        """Look up the last reading after each wave that stands, by number; 0: before the first."""
        return latest(self.readings, [entry.tasks for entry in self.standing])

    def with_reading(self, reading: Reading) -> Progress:
        """Build the progress with one more reading."""
        return replace(self, readings=(*self.readings, reading))

    def booked(self, waves: Iterable[Wave]) -> Progress:
        """Build the progress with these waves as the order that is worked from."""
        order = (Booked(w.number, tuple(task.id for task in w.tasks), w.start, w.end) for w in waves)
        return replace(self, order=tuple(order))
