"""Reads reference figures: the project's own tables, and published files that lie beside a checkout.

Letters in the ``source`` column name rows of ``data/sources.csv``; a letter after a number is a part of
that citation. Published load curves of servers and published packing instances are no part of the project
and lie in ``shared`` beside the checkout; where they are missing `outside` skips, and the run says so.
"""

import csv
from pathlib import Path

import pytest

REPO = Path(__file__).resolve().parents[2]
DATA = Path(__file__).resolve().parent / "data"
BESIDE = REPO.parent / "shared"

OCTAVES = ("125", "250", "500", "1000", "2000", "4000")


def rows(name: str) -> list[dict[str, str]]:
    """Read all rows of a table of the project by its file name."""
    return _read(DATA / name)


def outside(*path: str) -> Path:
    """Look up a file beside the checkout; the test that asks is skipped, and counted, where it is missing."""
    found = BESIDE.joinpath(*path)
    if not found.exists():
        pytest.skip(f"not beside this checkout: shared/{'/'.join(path)}")
    return found


def outside_rows(name: str) -> list[dict[str, str]]:
    """Read all rows of a reference table beside the checkout."""
    return _read(outside("reference", name))


def _read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
