"""What goes wrong with a person's file, told with its place and its repair."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

Path = tuple[str | int, ...]
"""Keys and list positions from the top of the file down to a value."""

SHOWN_CHARACTERS = 60
UNSAFE_CATEGORIES = frozenset({"Cc", "Cs", "Zl", "Zp"})
DIRECTION_MARKS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def is_unsafe(character: str) -> bool:
    """Say whether a character could steer a terminal or turn text around."""
    return unicodedata.category(character) in UNSAFE_CATEGORIES or character in DIRECTION_MARKS


def show(value: object) -> str:
    """Write a value from a file as one short line that is safe to print."""
    text = "".join(f"\\u{ord(c):04x}" if is_unsafe(c) else c for c in str(value))
    return text if len(text) <= SHOWN_CHARACTERS else text[: SHOWN_CHARACTERS - 1] + "…"


def path_text(path: Path) -> str:
    """Write a path as ``services.records-db.depends_on[1]``."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{show(part)}" if text else show(part)
    return text


@dataclass(frozen=True)
class Problem:
    """One mistake or doubt in a file; ``line`` counts from 1, None where there is no line."""

    file: str
    line: int | None
    path: str
    message: str
    repair: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        words = f"{self.message} {self.repair}".strip()
        return f"{place}: {self.path}: {words}" if self.path else f"{place}: {words}"


class InventoryError(Exception):
    """The file cannot be used as it is; ``problems`` lists everything that is wrong with it.

    Parameters
    ----------
    problems
        All mistakes found, in the order of the file.
    """

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems
