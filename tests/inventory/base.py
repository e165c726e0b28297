"""A small file that is right, and ways to change it."""

from __future__ import annotations

import textwrap
from pathlib import Path

import pytest

from planner.inventory import InventoryError, Loaded, Problem, load

EXAMPLES = Path(__file__).resolve().parents[2] / "inventories"

SMALL = textwrap.dedent("""\
    room: {size: 4 x 3 x 2.5 m}
    listeners:
      desk: {distance: 2 m, target: 45 dBA}
    supply:
      circuits:
        left: {breaker: 16 A}
    cooling:
      cooler: {takes_out: 2 kW, power: 700 W, runs_today: [summer, winter]}
    boxes:
      oak: {cores: 4, memory: 16 GiB, disk: 1 TB, power: {idle: 60 W, peak: 100 W}, sound: 40 dB}
    services:
      web: {box: oak, cpu: 0.5, memory: 2 GiB, disk: 40 GB}
    catalogue:
      host: {role: host, cores: 8, memory: 64 GiB, disk: 2 TB, power: {idle: 30 W}, price: 900}
    """)


def changed(old: str, new: str, text: str = SMALL) -> str:
    """Write the small file with one piece replaced; the piece must be there once."""
    assert text.count(old) == 1, old
    return text.replace(old, new)


def load_text(folder: Path, text: str) -> Loaded:
    """Write a text to a file and load it."""
    path = folder / "site.yaml"
    path.write_text(text, encoding="utf-8")
    return load(path)


def problems_of(folder: Path, text: str | bytes) -> tuple[Problem, ...]:
    """List the mistakes in a file that cannot be used."""
    path = folder / "site.yaml"
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    with pytest.raises(InventoryError) as caught:
        load(path)
    return caught.value.problems
