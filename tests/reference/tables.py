"""Reads the reference tables, which stand beside the checkout and are no part of it."""

import csv
from pathlib import Path

import pytest

REPO = Path(__file__).resolve().parents[2]
REFERENCE = REPO.parent / "shared" / "reference"

OCTAVES = ("125", "250", "500", "1000", "2000", "4000")


def rows(name: str) -> list[dict[str, str]]:
    """All rows of a table; the test that asks is skipped where the tables are not at hand."""
    path = REFERENCE / name
    if not path.is_file():
        pytest.skip(f"the reference table {name} is not beside this checkout")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def rows_or_none(name: str) -> list[dict[str, str]]:
    """As `rows`, but empty where the table is missing: for use while tests are collected."""
    return rows(name) if (REFERENCE / name).is_file() else []
