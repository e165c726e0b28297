"""Mistakes of all layers at once: form, names and agreement; and none about what nobody wrote."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.inventory.base import SMALL, changed, problems_of

TWO_CIRCUITS = changed("left: {breaker: 16 A}", "left: {breaker: 16 A}\n    right: {breaker: 16 A}")
WORD = re.compile(r"[A-Za-z_-]+")


@pytest.mark.parametrize(
    "old",
    [
        ", power: {idle: 60 W, peak: 100 W}",
        "  oak: {cores: 4, memory: 16 GiB, disk: 1 TB, power: {idle: 60 W, peak: 100 W}, sound: 40 dB}\n",
        "  web: {box: oak, cpu: 0.5, memory: 2 GiB, disk: 40 GB}\n",
        "  desk: {distance: 2 m, target: 45 dBA}\n",
        "breaker: 16 A}\n    right: {breaker: 16 A",
        "room: {size: 4 x 3 x 2.5 m}\n",
        "boxes:\n",
        "services:\n",
        "listeners:\n",
    ],
)
def test_no_line_names_what_nobody_wrote(tmp_path: Path, old: str) -> None:
    """Whatever is taken out, every path is of words in the file, but for a last one that is missing."""
    text = changed(old, "", TWO_CIRCUITS)
    words = {*WORD.findall(text), "boxes", "services", "listeners", "room"}
    for problem in problems_of(tmp_path, text):
        assert str(problem).isprintable()
        assert "u0000" not in str(problem)
        path = WORD.findall(problem.path)
        assert set(path[:-1] if "missing" in problem.message else path) <= words


def test_the_small_file_with_two_circuits_has_no_other_mistake(tmp_path: Path) -> None:
    """What the tests above take pieces out of."""
    assert SMALL != TWO_CIRCUITS
    assert {problem.path for problem in problems_of(tmp_path, TWO_CIRCUITS)} == {
        "boxes.oak",
        "cooling.cooler",
    }
