"""Puts a file in its place whole or not at all: the old one stays until the new one is on the disk."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from collections.abc import Iterator
from pathlib import Path

try:
    import fcntl
except ImportError:  # where the system has no such locks, the content alone decides
    fcntl = None  # type: ignore[assignment]


class ChangedError(Exception):
    """A file is not what it was when it was read."""


def put_if_unchanged(path: Path, before: bytes | None, data: bytes) -> None:
    """Put a file in its place if it still is what it was; no other process does so meanwhile.

    Parameters
    ----------
    before
        What was read of it; None where there was no file.

    Raises
    ------
    ChangedError
        When it has changed, come or gone since.
    OSError
        When the file cannot be read or written.
    """
    place = Path(os.path.realpath(path))
    with _alone_in(place.parent):
        try:
            now: bytes | None = place.read_bytes()
        except FileNotFoundError:
            now = None
        if now != before:
            raise ChangedError(path.name)
        put(place, data)


@contextlib.contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    """Hold a lock on a folder, which the system lets go of should the process die; leaves no file behind."""
    handle = -1
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        if fcntl is not None:
            fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        yield
    finally:
        if handle >= 0:
            os.close(handle)


def put(path: Path, data: bytes) -> None:
    """Write a file beside its place, bring it to the disk, and put it there in one step.

    A link is followed. A file that is there keeps its mode, a new one gets what the umask allows. Whatever
    stops this, an exception or the power, leaves the old file or the new one, and nothing beside it that
    outlives an exception.

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    place = Path(os.path.realpath(path))
    beside = place.with_name(f".{place.name}.{secrets.token_hex(4)}")
    try:
        with open(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666), "wb") as stream:
            stream.write(data)
            stream.flush()
            with contextlib.suppress(FileNotFoundError):
                os.chmod(beside, stat.S_IMODE(place.stat().st_mode))
            os.fsync(stream.fileno())
        os.replace(beside, place)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise
    _sync_folder(place.parent)


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
