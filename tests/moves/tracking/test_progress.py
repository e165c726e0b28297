"""Progress: marks on disk, and the rest scheduled from the true state."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest

from planner.domain.plan import Outcome
from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.moves.scheduling.request import Options
from planner.moves.scheduling.schedule import schedule
from planner.moves.tasks.progress import Mark, Progress
from planner.moves.tasks.readings import Reading
from planner.moves.tasks.walk import walk
from planner.moves.tracking.progress_file import ProgressError, dump, path_beside, read, read_kept
from tests.kit.sites import plain_site
from tests.moves.kit import onto_host, service, site_with

LONG = Windows("Europe/Vienna", (Recurring(5, time(8), 8.0),), (), date(2027, 3, 1))
AT = datetime(2027, 3, 6, 16, 0, tzinfo=UTC)


def a_site() -> Site:
    """Make the plain site with a window a week."""
    return replace(plain_site(), windows=LONG)


def after_waves(count: int) -> tuple[Progress, tuple[str, ...]]:
    """List the progress once some waves are done, and the tasks of those waves."""
    found = schedule(a_site(), onto_host(a_site()))
    progress = Progress()
    for wave in found.order.waves[:count]:
        assert wave.end is not None
        progress = progress.marked(wave, Mark.DONE, wave.end)
    return progress, tuple(task.id for wave in found.order.waves[:count] for task in wave.tasks)


@pytest.mark.slow
@pytest.mark.parametrize("count", [1, 2, 3])
def test_the_rest_goes_on_from_what_is_done(count: int) -> None:
    """After some waves the rest is what is left, in later windows, and ends in the target."""
    site, state = a_site(), onto_host(a_site())
    whole = schedule(site, state)
    progress, done = after_waves(count)
    last = whole.order.waves[count - 1].end
    assert last is not None
    rest = schedule(site, state, Options(start=last.date() + timedelta(days=1)), progress=progress)
    assert rest.outcome is Outcome.PROVEN
    left = [task.id for wave in rest.order.waves for task in wave.tasks]
    everything = [task.id for wave in whole.order.waves for task in wave.tasks]
    assert sorted([*done, *left]) == sorted(everything)
    joined = replace(whole.order, waves=(*whole.order.waves[:count], *rest.order.waves))
    assert [wave.number for wave in joined.waves] == list(range(1, len(joined.waves) + 1))
    assert walk(site, state, joined) == ()


@pytest.mark.slow
def test_the_days_of_rollback_go_on_across_progress() -> None:
    """A box held in a done wave is not taken out before its seven days are over."""
    site, state = a_site(), onto_host(a_site())
    whole = schedule(site, state)
    held = next(n for n, wave in enumerate(whole.order.waves, 1) if any(t.sort == "hold" for t in wave.tasks))
    progress, _ = after_waves(held)
    end = whole.order.waves[held - 1].end
    assert end is not None
    daily = replace(LONG, recurring=tuple(Recurring(day, time(8), 8.0) for day in range(7)))
    busy = replace(site, windows=daily)
    rest = schedule(busy, state, Options(start=end.date() + timedelta(days=1)), progress=progress)
    retired = next(w for w in rest.order.waves if any(t.sort == "retire" for t in w.tasks))
    assert retired.start is not None
    assert retired.start - end >= timedelta(days=7)


@pytest.mark.slow
def test_a_wave_rolled_back_is_scheduled_again() -> None:
    """What failed or was rolled back does not stand; all of it comes again."""
    site, state = a_site(), onto_host(a_site())
    whole = schedule(site, state)
    progress, _ = after_waves(2)
    progress = progress.marked(whole.order.waves[1], Mark.ROLLED_BACK, AT, "the restore was not readable")
    rest = schedule(site, state, Options(start=date(2027, 4, 1)), progress=progress)
    again = {task.id for wave in rest.order.waves for task in wave.tasks}
    assert {task.id for task in whole.order.waves[1].tasks} <= again
    assert not {task.id for task in whole.order.waves[0].tasks} & again


@pytest.mark.slow
def test_all_done_leaves_nothing() -> None:
    """Once every wave is done there is no wave left."""
    whole = schedule(a_site(), onto_host(a_site()))
    progress, _ = after_waves(len(whole.order.waves))
    assert schedule(a_site(), onto_host(a_site()), progress=progress).order.waves == ()


@pytest.mark.slow
def test_progress_comes_back_as_it_was_written(tmp_path: Path) -> None:
    """Write then read is the same; no file is no progress."""
    path = path_beside(tmp_path / "clinic.yaml")
    assert path.name == "clinic.progress.yaml"
    assert read(path) == Progress()
    progress, _ = after_waves(2)
    wave = schedule(a_site(), onto_host(a_site())).order.waves[2]
    progress = progress.marked(wave, Mark.MOVED, AT, "Grüße: [nobody] #came")
    read_kept(path).write(progress)
    assert read(path) == progress
    assert [item.name for item in tmp_path.iterdir()] == [path.name]


@pytest.mark.slow
@pytest.mark.parametrize("broken", ["fsync", "replace"])
def test_an_interrupted_write_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken: str
) -> None:
    """Whatever step fails, the old file is there as it was and nothing else."""
    path = tmp_path / "clinic.progress.yaml"
    old, _ = after_waves(1)
    read_kept(path).write(old)
    new, _ = after_waves(2)

    def fail(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, broken, fail)
    with pytest.raises(KeyboardInterrupt):
        read_kept(path).write(new)
    monkeypatch.undo()
    assert read(path) == old
    assert [item.name for item in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "is no stillroom.progress"),
        ("[1, 2]", "is no stillroom.progress"),
        ("a: [", "is no YAML"),
        ("format: stillroom.progress\nversion: 1\n", "write a list"),
        ("format: stillroom.progress\nversion: 1\nmarks: [{wave: 1}]\n", "mark 1"),
        ("format: stillroom.progress\nversion: 1\nmarks: [3]\n", "mark 1"),
    ],
)
def test_a_broken_file_is_refused_with_its_name(tmp_path: Path, text: str, word: str) -> None:
    """A file that is not whole is never taken for no progress."""
    path = tmp_path / "clinic.progress.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ProgressError, match=word) as caught:
        read(path)
    assert path.name in str(caught.value)


@pytest.mark.slow
def test_a_mark_needs_a_time_zone() -> None:
    """A time without a zone is no moment."""
    wave = schedule(a_site(), onto_host(a_site())).order.waves[0]
    with pytest.raises(ValueError, match="time zone"):
        Progress().marked(wave, Mark.DONE, datetime(2027, 3, 6))


@pytest.mark.slow
def test_the_file_can_be_read_by_a_person() -> None:
    """Marks are written in words."""
    progress, _ = after_waves(1)
    assert "mark: done" in dump(progress)


@pytest.mark.slow
def test_the_order_worked_from_is_kept_with_the_marks(tmp_path: Path) -> None:
    """Waves with their dates come back as they were, with and without marks."""
    waves = schedule(a_site(), onto_host(a_site())).order.waves
    path = tmp_path / "office.progress.yaml"
    for progress in (Progress().booked(waves), Progress().booked(waves).marked(waves[0], Mark.DONE, AT)):
        read_kept(path).write(progress)
        again = read(path)
        assert again == progress
        assert [item.start for item in again.order] == [wave.start for wave in waves]
        assert [item.tasks for item in again.order] == [tuple(t.id for t in w.tasks) for w in waves]


@pytest.mark.slow
def test_a_wave_moved_to_a_day_is_not_done_before(tmp_path: Path) -> None:
    """Its tasks come on or after that day, what does not hang on them may come before; done ends it."""
    site, state = a_site(), onto_host(a_site())
    waves = schedule(site, state).order.waves
    later = datetime(2027, 5, 1, 0, 0, tzinfo=UTC)
    progress = Progress().marked(waves[0], Mark.MOVED, later)
    found = schedule(site, state, progress=progress)
    assert found.outcome is Outcome.PROVEN
    moved = {task.id for task in waves[0].tasks}
    starts = [w.start for w in found.order.waves if moved & {task.id for task in w.tasks}]
    assert min(start for start in starts if start is not None) >= later
    assert progress.marked(waves[0], Mark.DONE, later).not_before == {}


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ("5", "order: write a list"),
        ("[5]", "wave 1: "),
        ("[{tasks: []}]", "wave 1: 'wave' is missing"),
        ("[{wave: 1, tasks: [], from: 2027-03-06 08:00:00}]", "wave 1: 'from' needs a time zone"),
    ],
)
def test_an_order_that_cannot_be_read_is_told(tmp_path: Path, order: str, told: str) -> None:
    """File, place and what is wrong."""
    path = tmp_path / "office.progress.yaml"
    path.write_text(f"format: stillroom.progress\nversion: 1\nmarks: []\norder: {order}\n", encoding="utf-8")
    with pytest.raises(ProgressError, match=told):
        read(path)


def test_readings_come_back_as_they_were_written(tmp_path: Path) -> None:
    """With all that was said of them, and with nothing but a figure."""
    full = Reading(
        2, ("move: mail",), AT, (("desk", 41.5),), 820.0, 24.0, "winter", 18.0, 35.0, "Grüße: door #open"
    )
    progress = Progress().with_reading(full).with_reading(Reading(0, (), AT, watts=900.0))
    path = tmp_path / "office.progress.yaml"
    read_kept(path).write(progress)
    assert read(path) == progress


@pytest.mark.slow
def test_a_day_after_what_is_done_is_kept() -> None:
    """Windows at half past one each night: a host set up by day has soaked the night after next."""
    site, state = a_site(), onto_host(a_site())
    first = schedule(site, state).order.waves[0]
    assert {task.sort.value for task in first.tasks} == {"bring in", "prepare"}
    end = datetime(2027, 3, 6, 16, 0, tzinfo=UTC)
    progress = Progress().marked(first, Mark.DONE, end)
    nightly = replace(LONG, recurring=tuple(Recurring(day, time(1, 30), 8.0) for day in range(7)))
    rest = schedule(replace(site, windows=nightly), state, Options(start=date(2027, 3, 7)), progress=progress)
    moved = next(wave for wave in rest.order.waves if wave.moves)
    assert moved.start is not None
    assert timedelta(hours=24) <= moved.start - end < timedelta(hours=48)


@pytest.mark.slow
def test_directory_servers_keep_a_day_from_one_that_is_done() -> None:
    """The second one waits a day after the first, though that is done already."""
    roles = frozenset({"directory"})
    servers = [service("dc-1", roles=roles), service("dc-2", "birch", roles=roles)]
    nightly = replace(LONG, recurring=tuple(Recurring(day, time(1, 30), 8.0) for day in range(7)))
    site = replace(site_with(*servers), windows=nightly)
    waves = schedule(site, onto_host(site)).order.waves
    until = next(number for number, wave in enumerate(waves, start=1) if wave.moves)
    progress = Progress()
    for wave in waves[:until]:
        assert wave.end is not None
        progress = progress.marked(wave, Mark.DONE, wave.end + timedelta(hours=10))
    last = progress.entries[-1].at
    rest = schedule(site, onto_host(site), Options(start=last.date() + timedelta(days=1)), progress=progress)
    other = next(wave for wave in rest.order.waves if wave.moves)
    assert other.start is not None
    assert other.start - last >= timedelta(hours=24)
