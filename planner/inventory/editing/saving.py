"""Saves a text over its file: whole or not at all, and never over what another program wrote meanwhile."""

from __future__ import annotations

import hashlib
import os
import stat
from pathlib import Path as FilePath

from planner.files import put


class SaveError(Exception):
    """The text was not saved; the file is as it was."""


class ChangedError(SaveError):
    """Another program changed the file since it was read."""


def digest(raw: bytes) -> str:
    """Say what tells one version of a file from another."""
    return hashlib.sha256(raw).hexdigest()


def digest_on_disk(path: FilePath) -> str | None:
    """Write the digest of a file as it is now, None when it is gone; SaveError when it cannot be read."""
    try:
        return digest(path.read_bytes())
    except FileNotFoundError:
        return None
    except OSError as error:
        raise SaveError(f"{path.name} cannot be read again: {error.strerror or error}") from None


def save(path: FilePath, text: str, seen: str) -> str:
    """Save a text over a file that was read as version ``seen``; gives the digest of what was written.

    Raises ChangedError when the file is another version now, SaveError when it cannot be written.
    """
    place = FilePath(os.path.realpath(path))
    now = digest_on_disk(place)
    if now is None:
        raise ChangedError(f"{path.name} is gone: it was removed or renamed by another program")
    if now != seen:
        raise ChangedError(f"{path.name} was changed by another program since it was read")
    mode = stat.S_IMODE(place.stat().st_mode)
    if not mode & stat.S_IWUSR or not os.access(place, os.W_OK):
        raise SaveError(f"{path.name} is read-only: allow writing, or save beside it")
    raw = text.encode("utf-8")
    _put(place, raw, path.name)
    return digest(raw)


def save_beside(path: FilePath, text: str) -> FilePath:
    """Save a text under a free name beside a file; gives that name. SaveError when it cannot be written."""
    for count in range(1, 1000):
        other = path.with_name(f"{path.stem}-mine{'' if count == 1 else f'-{count}'}{path.suffix}")
        if not os.path.lexists(other):
            _put(other, text.encode("utf-8"), other.name)
            return other
    raise SaveError(f"there is no free name beside {path.name}")


def _put(place: FilePath, raw: bytes, name: str) -> None:
    try:
        put(place, raw)
    except OSError as error:
        raise SaveError(f"{name} was not saved: {error.strerror or error}") from None
