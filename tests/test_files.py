"""A file is put in its place whole or not at all, whatever moment the writing is cut off at."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from planner.files import ChangedError, put, put_if_unchanged

CUT_OFF = """
import os, sys
from pathlib import Path
from planner.files import put
step, late = sys.argv[2], sys.argv[3] == "after"
there = getattr(os, step)
def cut(*args, **kwargs):
    if late:
        there(*args, **kwargs)
    os._exit(9)
setattr(os, step, cut)
put(Path(sys.argv[1]), b"new " * 100_000)
"""
OLD, NEW = b"old " * 1000, b"new " * 100_000


@pytest.mark.parametrize("when", ["before", "after"])
@pytest.mark.parametrize("step", ["open", "chmod", "fsync", "replace"])
def test_a_process_that_dies_leaves_the_old_or_the_new_file_whole(
    tmp_path: Path, step: str, when: str
) -> None:
    """Ended without a word before or after any step, as by a power cut."""
    path = tmp_path / "office.progress.yaml"
    path.write_bytes(OLD)
    ended = subprocess.run([sys.executable, "-c", CUT_OFF, str(path), step, when], timeout=60, check=False)
    assert ended.returncode == 9
    assert path.read_bytes() == (NEW if (step, when) == ("replace", "after") else OLD)


def test_a_failure_leaves_nothing_beside_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An exception takes the half-written file away."""
    path = tmp_path / "a.yaml"
    path.write_bytes(OLD)

    def fail(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(KeyboardInterrupt):
        put(path, NEW)
    assert path.read_bytes() == OLD
    assert [item.name for item in tmp_path.iterdir()] == ["a.yaml"]


@pytest.mark.parametrize(("umask", "mode"), [(0o022, 0o644), (0o077, 0o600), (0o002, 0o664)])
def test_a_new_file_has_the_mode_that_the_umask_allows(tmp_path: Path, umask: int, mode: int) -> None:
    """As any program's file has."""
    before = os.umask(umask)
    try:
        put(tmp_path / "new.yaml", NEW)
    finally:
        os.umask(before)
    assert (tmp_path / "new.yaml").stat().st_mode & 0o777 == mode


def test_a_file_that_is_there_keeps_its_mode_and_a_link_stays_a_link(tmp_path: Path) -> None:
    """What was shared stays shared, and what was private private."""
    path, link = tmp_path / "a.yaml", tmp_path / "link.yaml"
    path.write_bytes(OLD)
    path.chmod(0o640)
    link.symlink_to(path)
    put(link, NEW)
    assert link.is_symlink()
    assert path.read_bytes() == NEW
    assert path.stat().st_mode & 0o777 == 0o640


def test_writers_at_once_lose_nothing_that_was_written(tmp_path: Path) -> None:
    """Four threads add 25 lines each, reading again whenever another one was quicker: 100 lines stand."""
    path = tmp_path / "marks"
    path.write_bytes(b"")

    def add(number: int) -> None:
        for count in range(25):
            while True:
                before = path.read_bytes()
                with contextlib.suppress(ChangedError):
                    put_if_unchanged(path, before, before + f"{number}.{count}\n".encode())
                    break

    threads = [threading.Thread(target=add, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    lines = path.read_text(encoding="ascii").split()
    assert sorted(lines) == sorted(f"{number}.{count}" for number in range(4) for count in range(25))
    assert [item.name for item in tmp_path.iterdir()] == ["marks"]


def test_a_file_that_came_or_went_meanwhile_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "marks"
    with pytest.raises(ChangedError):
        put_if_unchanged(path, b"old", b"new")
    assert not path.exists()
    put_if_unchanged(path, None, b"one")
    with pytest.raises(ChangedError):
        put_if_unchanged(path, None, b"two")
    assert path.read_bytes() == b"one"
