"""Writes results to stdout: text, plain facts or JSON, with colour only where it belongs."""

from __future__ import annotations

import contextlib
import json
import os
import sys
from collections.abc import Callable
from typing import Any, TypeVar

import click

from planner.cli.errors import RefusedError
from planner.report.common.text import Line, paint

Function = TypeVar("Function", bound=Callable[..., Any])


def face_options(function: Function) -> Function:
    """Add ``--json`` and ``--plain`` to a command."""
    plain = click.option("--plain", is_flag=True, help="One fact a line, without columns or colour.")
    as_json = click.option("--json", "as_json", is_flag=True, help="JSON; 'stillroom schema' describes it.")
    return as_json(plain(function))


def json_text(data: object) -> str:
    """Write JSON text in ASCII; refuses what JSON cannot carry."""
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


def wants_colour() -> bool:
    """Say whether stdout is a terminal whose person wants colour."""
    dumb = os.environ.get("TERM") == "dumb"
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and not dumb


def write(lines: list[Line], *, plain: bool = False) -> None:
    """Write a page to stdout."""
    _out(paint(lines, colour=wants_colour() and not plain))


def write_json(data: object) -> None:
    """Write JSON to stdout."""
    _out(json_text(data))


def write_text(text: str) -> None:
    """Write text as it is to stdout."""
    _out(text)


def _out(text: str) -> None:
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        drop_stdout()
        raise RefusedError(f"the result cannot be written: {error.strerror or error}") from None


def drop_stdout() -> None:
    """Point stdout at nothing, so that leaving does not fail on it once more."""
    with contextlib.suppress(OSError, ValueError):
        stdout = sys.stdout.fileno()
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, stdout)
        os.close(nothing)
