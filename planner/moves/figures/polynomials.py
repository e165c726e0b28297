"""Sums of products of 'this task is done': how a figure of the room depends on what is done.

A polynomial maps sets of literals to coefficients (a multilinear pseudo-Boolean function); a literal is 1
when its task is done, so it is its own square.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import combinations
from typing import NamedTuple, TypeVar


class Literal(NamedTuple):
    """'This task, or block, is done'; ``early``: in an earlier wave."""

    name: str
    early: bool = False


Term = frozenset[Literal]
ONE: Term = frozenset()
Key = TypeVar("Key")


class Poly:
    """A multilinear polynomial in literals; immutable by habit."""

    def __init__(self, terms: Mapping[Term, float] | None = None) -> None:
        self.terms: dict[Term, float] = {key: value for key, value in (terms or {}).items() if value != 0.0}

    def __add__(self, other: Poly) -> Poly:
        """Add two polynomials."""
        found = dict(self.terms)
        for term, value in other.terms.items():
            found[term] = found.get(term, 0.0) + value
        return Poly(found)

    def __mul__(self, other: Poly) -> Poly:
        """Multiply two polynomials."""
        found: dict[Term, float] = {}
        for one, first in self.terms.items():
            for two, second in other.terms.items():
                found[one | two] = found.get(one | two, 0.0) + first * second
        return Poly(found)

    def times(self, factor: float) -> Poly:
        """Multiply by a number."""
        return Poly({term: value * factor for term, value in self.terms.items()})

    def value(self, done: Callable[[Literal], bool]) -> float:
        """Compute the value once some literals are done."""
        return sum(value for term, value in self.terms.items() if all(done(literal) for literal in term))

    def reduced(self, shorten: Callable[[Term], Key]) -> dict[Key, float]:
        """Add up the coefficients of terms that are shortened to the same."""
        found: dict[Key, float] = {}
        for term, value in self.terms.items():
            key = shorten(term)
            found[key] = found.get(key, 0.0) + value
        return {key: value for key, value in found.items() if value != 0.0}


def number(value: float) -> Poly:
    """Build a constant."""
    return Poly({ONE: value})


def once(literal: Literal) -> Poly:
    """Build a literal."""
    return Poly({frozenset((literal,)): 1.0})


def unless(literal: Literal) -> Poly:
    """Build one minus a literal."""
    return Poly({ONE: 1.0, frozenset((literal,)): -1.0})


def total(parts: Iterable[Poly]) -> Poly:
    """Add many polynomials."""
    found: dict[Term, float] = {}
    for part in parts:
        for term, value in part.terms.items():
            found[term] = found.get(term, 0.0) + value
    return Poly(found)


def by_subset(literals: tuple[Literal, ...], value: Callable[[Term], Poly]) -> Poly:
    """Build the polynomial that is ``value(taken)`` when of the literals exactly those ``taken`` are done."""
    parts = []
    for size in range(len(literals) + 1):
        for taken in combinations(literals, size):
            exactly = number(1.0)
            for literal in literals:
                exactly = exactly * (once(literal) if literal in taken else unless(literal))
            parts.append(exactly * value(frozenset(taken)))
    return total(parts)
