"""Finds the known word that a slip of the fingers made another of, by optimal string alignment distance.

Counted are letters left out, added, changed, and two neighbours swapped (R. A. Wagner and M. J. Fischer
1974, with the swap of F. J. Damerau 1964). At most a third of the longer word may differ, and figures must
agree: host-3 is no slip of host-2.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

MOST_APART = 1.0 / 3.0
FIGURES = re.compile(r"\d+")
LONGEST_COMPARED = 80


def nearest(word: object, known: Iterable[str]) -> str | None:
    """Find the known word that is really near, None where none is."""
    written = str(word).casefold()
    if len(written) > LONGEST_COMPARED:
        return None
    figures = FIGURES.findall(written)
    ranked = [
        (distance(written, each.casefold()) / max(len(written), len(each), 1), each)
        for each in known
        if FIGURES.findall(each) == figures
    ]
    apart, found = min(ranked, default=(1.0, ""), key=lambda pair: pair[0])
    return found if apart <= MOST_APART else None


def distance(first: str, second: str) -> int:
    """Compute how many slips lie between two words."""
    before: list[int] = []
    above = list(range(len(second) + 1))
    for row, letter in enumerate(first, start=1):
        here = [row]
        for column, other in enumerate(second, start=1):
            cost = min(above[column] + 1, here[-1] + 1, above[column - 1] + (letter != other))
            if row > 1 and column > 1 and (letter, other) == (second[column - 2], first[row - 2]):
                cost = min(cost, before[column - 2] + 1)
            here.append(cost)
        before, above = above, here
    return above[-1]


def suggestion(word: object, known: Iterable[str]) -> str:
    """Ask for the nearest word, or write nothing where none is near."""
    near = nearest(word, known)
    return f"Did you mean '{near}'?" if near is not None else ""
