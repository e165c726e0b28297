"""Mutation operators on the text of a file: lines and characters, without regard to what they mean."""

from __future__ import annotations

import random
from collections.abc import Callable

PIECES = (
    "\t", "\r", "\r\n", "\n", " ", "  ", ":", ": ", "-", "- ", "[", "]", "{", "}", ",", "#", "'", '"',
    "&a ", "*a", "!!x ", "!", "|", ">", "%", "@", "`", "?", "? ", "---\n", "...\n", "~", "<<: *a", "\0",
    "\x07", "\x85", "\u2028", "\ufeff", "\udcff", "é", "漢", "\U0001f600", "0", "9", "-", ".", "e", ",5",
)  # fmt: skip


def _insert(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(PIECES) + text[at:]


def _remove(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + text[at + rng.choice((1, 1, 2, 5, 40)) :]


def _replace(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(PIECES) + text[at + 1 :]


def _cut(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] if rng.random() < 0.7 else text[at:]


def _lines(text: str, rng: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    here, there = rng.randrange(len(lines)), rng.randrange(len(lines))
    way = rng.randrange(5)
    if way == 0:
        del lines[here]
    elif way == 1:
        lines.insert(there, lines[here])
    elif way == 2:
        lines[here], lines[there] = lines[there], lines[here]
    elif way == 3:
        lines[here] = rng.choice(("  ", " ", "\t", "    ")) + lines[here]
    else:
        lines[here] = lines[here].lstrip()
    return "".join(lines)


def _copy(text: str, rng: random.Random) -> str:
    start, at = rng.randrange(len(text) + 1), rng.randrange(len(text) + 1)
    return text[:at] + text[start : start + rng.choice((1, 4, 12, 60))] + text[at:]


WAYS: tuple[Callable[[str, random.Random], str], ...] = (
    _insert,
    _remove,
    _replace,
    _cut,
    _lines,
    _lines,
    _copy,
)


def mutate_text(text: str, rng: random.Random) -> str:
    """Apply one or a few random operators to a text."""
    for _ in range(rng.choice((1, 1, 2, 3))):
        if text:
            text = rng.choice(WAYS)(text, rng)
    return text
