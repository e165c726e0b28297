"""How things look: signs for states, words in colour, and text from files made safe to draw."""

from __future__ import annotations

from functools import lru_cache

from rich.text import Text
from textual.theme import Theme

from planner.report.common.text import Cell, Line, clean

STYLES = {"head": "bold", "good": "green", "bad": "bold red", "doubt": "yellow", "dim": "dim", "mark": "bold"}
"""Each style says again what a word or sign says already."""

VERDICT_SIGNS = {"virtualise": "◈", "appliance": "▫", "tower": "▮", "keep": "="}
FATE_SIGNS = {"keep": "=", "reuse": "↻", "retire": "×"}
FATE_WORDS = {"keep": "keep", "reuse": "re-use as host", "retire": "switch off"}

NIGHT = Theme(
    name="stillroom-night",
    primary="#7fb7a6",
    secondary="#c9a66b",
    warning="#d9a441",
    error="#e0705f",
    success="#8fbf6a",
    accent="#c9a66b",
    foreground="#d8dcd4",
    background="#171b1a",
    surface="#1d2321",
    panel="#27302d",
    dark=True,
)
DAY = Theme(
    name="stillroom-day",
    primary="#22665a",
    secondary="#7a5a1e",
    warning="#8a5a00",
    error="#a5281b",
    success="#2f6b1f",
    accent="#7a5a1e",
    foreground="#1d2422",
    background="#f4f3ee",
    surface="#eceae2",
    panel="#dcdace",
    dark=False,
)


def words(text: object, style: str = "") -> Text:
    """Make text to draw; what comes from a file is never taken as markup and steers nothing."""
    return Text(clean(text), style=STYLES.get(style, style), no_wrap=True, overflow="ellipsis", end="")


def cut(text: object, width: int, style: str = "") -> Text:
    """Make text to draw in so many columns at most, cut with a sign where it is longer."""
    made = words(text, style)
    made.truncate(max(1, width), overflow="ellipsis")
    return made


@lru_cache(maxsize=32768)
def cell_text(cell: Cell, width: int) -> Text:
    """Make a table cell to draw."""
    made = cut(cell.text, width, cell.style)
    made.justify = "right" if cell.right else "left"
    return made


def line_text(line: Line) -> Text:
    """Make a line of a page to draw."""
    return Text.assemble(*((clean(piece.text), STYLES.get(piece.style, "")) for piece in line.pieces), end="")
