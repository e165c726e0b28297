"""Saves a result to a file: whole or not at all, and never over the inventory."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from planner.cli import signals
from planner.cli.errors import RefusedError
from planner.files import put


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
    """Write a text to its file, whole or not at all."""
    try:
        with signals.held(target.name):
            put(target, text.encode("utf-8"))
    except OSError as error:
        raise RefusedError(f"{target} cannot be written: {error.strerror or error}") from None
