"""Puts a file in its place whole or not at all: the old one stays until the new one is on the disk."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from pathlib import Path


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
