"""Mistakes of all layers at once: form, names and agreement; and none about what nobody wrote."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

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


FULL = changed(
    "  web: {",
    "  db: {box: oak, cores: 2, load: 30 %, memory: 4 GiB, disk: 90 GB, roles: [database]}\n  web: {",
    SMALL
    + "gear:\n  hub: {power: 30 W, leaves_room: 5 W, sort: switch}\n"
    + "seasons:\n  summer: {surroundings: 26 °C, hours: 4000}\n  winter: {surroundings: 20 °C, hours: 4760}\n"
    + "rules:\n  apart:\n    - {services: [web, db], because: why}\n",
)
SLIPS = {
    "memory of the box": ("memory: 16 GiB", "memory: 16 gigs"),
    "no CPU of the box": ("cores: 4, ", ""),
    "power of the box": ("idle: 60 W, peak", "peak: 90 W, idle"),
    "disk of a service": ("disk: 40 GB", "disk: forty"),
    "no CPU of the same service": ("cpu: 0.5, ", ""),
    "no load of the other": ("load: 30 %, ", ""),
    "memory of the other": ("memory: 4 GiB, ", ""),
    "role of the other": ("[database]", "[vpn]"),
    "a box that is not there": ("box: oak, cpu: 0.5", "box: birch, cpu: 0.5"),
    "hours of a year": ("hours: 4000", "hours: 4100"),
    "a twin in a rule": ("[web, db], because", "[web, db, web], because"),
    "power of gear": ("{power: 30 W", "{power: 30 volts"),
    "no target of the level": ("distance: 2 m, ", ""),
    "size of the room": ("4 x 3 x 2.5 m", "4 x 3 m"),
    "two circuits": ("left: {breaker: 16 A}", "left: {breaker: 16 A}\n    right: {breaker: 16 A}"),
    "breaker": ("    left: {breaker: 16 A}", "    left: {breaker: sixteen}"),
    "price": ("price: 900", "price: -900"),
    "sort": ("role: host", "role: hosting"),
    "a key of nothing": ("web: {", "web: {year: 2013, "),
    "a stay without a reason": ("web: {", "web: {stay_physical: yes, "),
    "draw of the cooler": ("power: 700 W, ", ""),
}


def told_of(folder: Path, slips: set[str]) -> set[str]:
    """Give paths and messages of what is wrong with the full file once some slips are made in it."""
    text = FULL
    for slip in sorted(slips):
        text = text.replace(*SLIPS[slip])
    return {f"{problem.path}: {problem.message}" for problem in problems_of(folder, text)}


@pytest.mark.slow
@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sets(st.sampled_from(sorted(SLIPS)), min_size=2))
def test_several_slips_are_told_like_each_alone(tmp_path: Path, slips: set[str]) -> None:
    """No mistake waits for another to be mended, and none is invented by what stands in its place."""
    if {"two circuits", "breaker"} <= slips:
        slips = slips - {"breaker"}
    alone = set().union(*(told_of(tmp_path, {slip}) for slip in slips))
    assert told_of(tmp_path, slips) == alone


def test_a_wrong_figure_brings_no_mistake_of_its_stand_in(tmp_path: Path) -> None:
    """Peak below idle, or a year of too many hours: only what the file says, not what stands in for it."""
    for old, new in (
        ("peak: 100 W", "peak: many"),
        ("idle: 60 W", "idle: few"),
        ("hours: 4000", "hours: many"),
    ):
        (told,) = problems_of(tmp_path, changed(old, new, FULL))
        assert new.split(": ")[1] in told.message
