"""A suggestion is made only where a word is really near; else there is the list of what there is."""

from __future__ import annotations

import itertools
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.inventory.defaults.roles import ROLES
from planner.inventory.text.nearest import distance, nearest
from tests.inventory.base import changed, problems_of

WORDS = st.text("abc", max_size=6)


@cache
def least_slips(first: str, second: str) -> int:
    """Count slips by the definition: over all ways to take the last letters off."""
    if not first or not second:
        return len(first) + len(second)
    ways = [
        least_slips(first[:-1], second) + 1,
        least_slips(first, second[:-1]) + 1,
        least_slips(first[:-1], second[:-1]) + (first[-1] != second[-1]),
    ]
    if len(first) > 1 and len(second) > 1 and first[-2:] == second[:-3:-1]:
        ways.append(least_slips(first[:-2], second[:-2]) + 1)
    return min(ways)


@given(WORDS, WORDS)
def test_the_distance_is_that_of_the_definition(first: str, second: str) -> None:
    """The table row by row gives what the recursion over all ways gives."""
    assert distance(first, second) == least_slips(first, second) == distance(second, first)


@pytest.mark.parametrize("word", ["vpn", "xyzzy", "blorf", "quux", "ntp", "erp", "crm", "kanban", "qwertz"])
def test_a_word_near_to_nothing_is_given_the_list(tmp_path: Path, word: str) -> None:
    """Three letters that share one with `print` are no slip of it."""
    (told,) = problems_of(tmp_path, changed("disk: 40 GB", f"disk: 40 GB, roles: [{word}]"))
    assert told.repair == f"Write one of {', '.join(ROLES)}."


@pytest.mark.parametrize("role", ROLES)
def test_every_single_slip_in_a_longer_word_is_found(role: str) -> None:
    """Leaving a letter out or swapping two leads back to the word, from four letters on."""
    if len(role) < 4:
        assert nearest(role[1] + role[0] + role[2:], ROLES) in ROLES
        return
    slips = {role[:at] + role[at + 1 :] for at in range(len(role))}
    slips |= {role[:at] + role[at + 1] + role[at] + role[at + 2 :] for at in range(len(role) - 1)}
    assert {nearest(slip, ROLES) for slip in slips - set(ROLES)} == {role}


def test_another_figure_is_another_thing() -> None:
    """Of machines that are counted, none is a slip of the next one."""
    names = [f"quiet-host-{number}" for number in range(1, 5)]
    assert nearest("quiet-host-7", names) is None
    assert nearest("quite-host-3", names) == "quiet-host-3"


def test_short_names_are_no_slips_of_each_other() -> None:
    """One letter of one or two is half the word or all of it."""
    for word, other in itertools.permutations(["a", "b", "ad", "db"], 2):
        assert nearest(word, [other]) is None
