"""How much work there is before a large site is in sight, and for a key on it, in calls of functions.

They are held against those of the usual reader on the same file, half a second on a slow processor of 2020.
"""

from __future__ import annotations

import asyncio
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
import yaml
from textual.pilot import Pilot

from tests.kit.effort import Calls, calls_of
from tests.tui.screens import drive
from tests.tui.sizes import many
from tui.app import Stillroom

ROOT = Path(__file__).resolve().parents[2]
TEXT = many(1000)
HEAVY = ("pulp", "highspy", "numpy", "networkx", "pandas")
KEY_SHARE = 0.25


@pytest.mark.slow
def test_the_screen_opens_without_the_solver() -> None:
    """Neither solver nor tables of numbers are loaded before the file is in sight."""
    code = (
        f"import planner.cli.commands.edit, tui.start, sys; print([n for n in {HEAVY} if n in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True, text=True)
    assert found.stdout.strip() == "[]"


@pytest.mark.slow
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


async def longest_calls(pilot: Pilot[None], keys: Sequence[str]) -> int:
    """Press keys; count the calls of functions of the longest work in one piece that kept one unanswered."""
    longest = 0

    async def feel(calls: Calls) -> None:
        nonlocal longest
        while True:
            before = calls.count
            await asyncio.sleep(0.002)
            longest = max(longest, calls.count - before)

    with Calls() as calls:
        pulse = asyncio.create_task(feel(calls))
        for key in keys:
            await pilot.press(key)
        pulse.cancel()
    return longest


@pytest.mark.slow
@pytest.mark.parametrize(
    "keys", [["down"] * 5, ["pagedown"] * 3, ["slash", "a", "-", "7", "escape"], ["o", "O"], ["4", "2"]]
)
def test_keys_are_answered_soon(tmp_path: Path, keys: list[str]) -> None:
    """Moving, filtering, sorting, going elsewhere: no key waits for more work than a part of reading."""
    taken: list[int] = []

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await pilot.pause(0.5)
        taken.append(await longest_calls(pilot, keys))

    drive(tmp_path, script, source=TEXT)
    assert taken[0] < KEY_SHARE * calls_of(lambda: yaml.safe_load(TEXT)), taken
