"""Saves a result to a file: whole or not at all, and never over the inventory."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from planner.cli.errors import RefusedError


def refuse_bad_target(target: Path, inputs: Iterable[Path]) -> None:
    """Refuse a file that cannot be written or that is one of the inputs, before any work is done."""
    if target.is_dir():
        raise RefusedError(f"{target} is a directory; name a file to write the plan to")
    if not target.parent.is_dir():
        raise RefusedError(f"{target.parent} is no directory; make it first")
    if not os.access(target.parent, os.W_OK):
        raise RefusedError(f"{target.parent} may not be written to")
    for source in inputs:
        if target.exists() and source.exists() and target.samefile(source):
            raise RefusedError(f"{target} is what the plan is made from; name another file for -o")


def save(target: Path, text: str) -> None:
    """Write a text beside the target, then put it in its place in one step."""
    place = target.resolve()
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{place.name}.", dir=place.parent)
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, _mode(place))
        os.replace(temporary, place)
    except OSError as error:
        if temporary is not None:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        raise RefusedError(f"{target} cannot be written: {error.strerror or error}") from None


def _mode(place: Path) -> int:
    if place.exists():
        return place.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
