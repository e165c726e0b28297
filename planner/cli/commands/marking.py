"""What a person says of waves, ``--done`` and its like: checked, and put into the progress."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from pathlib import Path

from planner.cli import signals
from planner.cli.errors import RefusedError
from planner.files import ChangedError
from planner.moves.grid.windows import zone_of
from planner.moves.tasks.progress import Mark, Progress
from planner.moves.tasks.wave import Wave
from planner.moves.tracking import progress_file as kept
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse, gone_for_good, too_early
from planner.moves.tracking.progress_file import Kept, ProgressError
from planner.moves.tracking.progress_rescue import keep_aside


@dataclass(frozen=True)
class Said:
    """What is said of one wave; ``until`` is the day to which it is moved."""

    number: int
    mark: Mark
    until: date | None = None


def said(
    done: Sequence[int], failed: int | None, rolled_back: int | None, moved: tuple[int, date] | None
) -> list[Said]:
    """Gather the marks of a run; RefusedError for several sorts at once: their order would matter."""
    found = [Said(number, Mark.DONE) for number in dict.fromkeys(done)]
    found += [Said(failed, Mark.FAILED)] if failed is not None else []
    found += [Said(rolled_back, Mark.ROLLED_BACK)] if rolled_back is not None else []
    found += [Said(moved[0], Mark.MOVED, moved[1])] if moved is not None else []
    if len({item.mark for item in found}) > 1:
        raise RefusedError("--done, --failed, --rolled-back and --moved: one of them at a time")
    return found


def read_progress(inventory: Path) -> Kept:
    """Read the progress beside an inventory; RefusedError for a file that is none.

    What can be read of a broken file is kept in another one beside it.
    """
    path = kept.path_beside(inventory)
    try:
        return kept.read_kept(path)
    except ProgressError as error:
        raise RefusedError(f"{error}; {_repair(path)}") from None
    except OSError as error:
        raise RefusedError(f"{path.name} cannot be read: {error.strerror or error}") from None


def _repair(path: Path) -> str:
    """Say what to do with a broken file that loses nothing, and keep aside what can be read of it."""
    try:
        found = keep_aside(path)
    except OSError:
        found = None
    if found is None:
        return "mend it, or move it away to begin anew"
    aside, progress = found
    marks, readings = len(progress.entries), len(progress.readings)
    return (
        f"mend it, or look through {aside.name}, which keeps what can be read of it (marks: {marks}, "
        f"readings: {readings}), and put that in its place"
    )


def write_progress(before: Kept, progress: Progress) -> Path:
    """Keep the progress beside an inventory, whole or not at all, and give its place.

    RefusedError where the file is not what was read: two runs at once must not lose a mark.
    """
    name = before.path.name
    try:
        with signals.held(name):
            before.write(progress)
    except ChangedError:
        words = "was written by somebody else meanwhile, and nothing of this is kept; say it again"
        raise RefusedError(f"{name} {words}") from None
    except OSError as error:
        raise RefusedError(f"{name} cannot be written: {error.strerror or error}") from None
    return before.path


def marked(course: OrderInUse, current: ArrangedOrder, marks: Sequence[Said], note: str) -> OrderInUse:
    """Find the course with the marks; RefusedError for a wave there is not, or that cannot be so."""
    for item in sorted(marks, key=lambda each: each.number):
        wave = _wave(current, item)
        progress = course.progress.marked(wave, item.mark, _at(course, wave, item), note)
        course = replace(course, progress=progress)
    _refuse_too_early(course)
    return course


def _wave(current: ArrangedOrder, item: Said) -> Wave:
    waves = {wave.number: wave for wave in current.whole.waves}
    if item.number not in waves:
        known = f"waves 1 to {max(waves)}" if waves else "no waves"
        raise RefusedError(f"there is no wave {item.number}; there are {known}")
    wave = waves[item.number]
    is_open = any(wave.number == other.number for other in current.order.waves)
    if item.mark is not Mark.ROLLED_BACK and not is_open:
        raise RefusedError(f"wave {item.number} is done already; --rolled-back {item.number} takes it back")
    gone = gone_for_good(wave)
    if item.mark is Mark.ROLLED_BACK and gone:
        raise RefusedError(f"wave {item.number} took {', '.join(gone)} out of the room: it has no way back")
    return wave


def _at(course: OrderInUse, wave: Wave, item: Said) -> datetime:
    """Find when a wave was over; of one that is moved, when it may be done."""
    if item.until is not None:
        if wave.end is None:
            raise RefusedError("the order has no dates to move; give --start first, with --keep")
        return datetime.combine(item.until, time(0), tzinfo=zone_of(course.site.windows))
    return wave.end or datetime.now(UTC).replace(microsecond=0)


def _refuse_too_early(course: OrderInUse) -> None:
    work, done = course.all_work(), course.progress.done
    for task, before in too_early(work, done.keys()):
        raise RefusedError(
            f"that cannot be: '{task}' counts as done, but '{before}', which comes before it, does not; "
            "mark the waves in their order"
        )
