"""How much work there is before a large site is in sight, and for a key on it, in processor time.

Limits on processor time hold on a busy machine too. They count in units of a plain piece of work, timed in
the same run: the usual reader on the same file, half a second on a slow processor of 2020.
"""

from __future__ import annotations

import asyncio
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.screens import drive
from tests.tui.sizes import many
from tests.tui.unit import unit_s
from tui.app import Stillroom

ROOT = Path(__file__).resolve().parents[2]
TEXT = many(1000)
HEAVY = ("pulp", "highspy", "numpy", "networkx", "pandas")
KEY_UNITS = 0.8


def test_the_screen_opens_without_the_solver() -> None:
    """Neither solver nor tables of numbers are loaded before the file is in sight."""
    code = (
        f"import planner.cli.commands.edit, tui.start, sys; print([n for n in {HEAVY} if n in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True, text=True)
    assert found.stdout.strip() == "[]"


def test_a_thousand_services_are_soon_in_sight(tmp_path: Path) -> None:
    """The process comes to the first rows, and tells the seconds and how long the machine takes for a unit.

    How many units opening takes is told by ``python -m tests.tui.opening FILE``.
    """
    path = tmp_path / "site.yaml"
    path.write_text(TEXT, encoding="utf-8")
    command = [sys.executable, "-m", "tests.tui.opening", str(path)]
    found = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    seconds, unit = (float(word) for word in found.stdout.split())
    assert seconds > unit > 0.0


async def longest_s(pilot: Pilot[None], keys: Sequence[str]) -> float:
    """Press keys; give the longest work in one piece, in this thread's time, that kept one unanswered."""
    longest = 0.0

    async def feel() -> None:
        nonlocal longest
        while True:
            before = time.thread_time()
            await asyncio.sleep(0.002)
            longest = max(longest, time.thread_time() - before)

    pulse = asyncio.create_task(feel())
    for key in keys:
        await pilot.press(key)
    pulse.cancel()
    return longest


@pytest.mark.parametrize(
    "keys", [["down"] * 5, ["pagedown"] * 3, ["slash", "a", "-", "7", "escape"], ["o", "O"], ["4", "2"]]
)
def test_keys_are_answered_soon(tmp_path: Path, keys: list[str]) -> None:
    """Moving, filtering, sorting, going elsewhere: the least of three tries, each beside its own unit."""
    taken: list[float] = []

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await pilot.pause(0.5)
        taken.extend([await longest_s(pilot, keys) / unit_s(TEXT, 1) for _ in range(3)])

    drive(tmp_path, script, source=TEXT)
    assert min(taken) < KEY_UNITS, taken
