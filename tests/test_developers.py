"""What DEVELOPERS says is where it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
FILES = [
    path.relative_to(ROOT).as_posix()
    for top in ("planner", "tui", "tests")
    for path in (ROOT / top).rglob("*.py")
]
NAMED = sorted(set(re.findall(r"`([\w/]+\.py)`", TEXT)))


@pytest.mark.parametrize("name", NAMED)
def test_a_file_that_is_named_is_there(name: str) -> None:
    assert any(f"/{path}".endswith(f"/{name}") for path in FILES)


def test_every_room_is_on_the_map() -> None:
    """Each folder of the planner below its first floor, and each of the floor itself."""
    rooms = {path.parent.name for path in (ROOT / "planner").rglob("__init__.py")} - {"planner"}
    pages = {path.parent.name for path in (ROOT / "planner" / "report").rglob("page.py")}
    missing = {room for room in rooms - pages if not re.search(rf"`[^`\n]*\b{room}\b", TEXT)}
    assert not missing
