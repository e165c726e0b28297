"""Lines of text for a terminal: pieces with a style, aligned, wrapped, and safe to print.

Escape codes are put in at the very end, by `paint`, round text that has been cleaned. So nothing that
comes from a file can steer a terminal, whatever a face does with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len, chop_cells

from planner.domain.plan import INTERRUPTED
from planner.inventory.text.errors import is_unsafe

WIDTH = 80
INDENT = "  "
STYLES = {"head": "1", "good": "32", "bad": "31", "doubt": "33", "dim": "2"}


@dataclass(frozen=True)
class Piece:
    """A run of text in one style ('' or a key of ``STYLES``)."""

    text: str
    style: str = ""


@dataclass(frozen=True)
class Line:
    """One line of a page."""

    pieces: tuple[Piece, ...] = ()


@dataclass(frozen=True)
class Cell:
    """One cell of a table: text, style, and whether it is pushed to the right."""

    text: str
    style: str = ""
    right: bool = False


def clean(text: object) -> str:
    """Write text with every character that could steer a terminal written as its code."""
    given = str(text)
    if given.isascii() and given.isprintable():
        return given
    return "".join(f"\\u{ord(letter):04x}" if is_unsafe(letter) else letter for letter in given)


def pad(text: str, width: int, right: bool = False) -> str:
    """Fill a text with spaces up to a width in columns."""
    fill = " " * max(0, width - cell_len(text))
    return fill + text if right else text + fill


def line(text: str = "", style: str = "") -> Line:
    """Make a line of one piece."""
    return Line((Piece(text, style),) if text else ())


def heading(title: str) -> list[Line]:
    """Make an empty line and a title."""
    return [line(), line(title, "head")]


def paragraph(text: str, indent: str = INDENT, style: str = "", hang: str = "") -> list[Line]:
    """Wrap a text into lines; those after the first are indented by ``hang`` more."""
    return [line(part, style) for part in wrap(clean(text), WIDTH, indent, indent + hang)]


def wrap(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Break a text between words into lines of at most so many columns; a longer word is cut (greedy).

    ``first`` stands before the first line, ``rest`` before the others.
    """
    lines: list[str] = []
    begun, held = first, ""
    for word in _chopped(text.split(), width - max(cell_len(first), cell_len(rest))):
        joined = f"{held} {word}" if held else word
        if held and cell_len(begun) + cell_len(joined) > width:
            lines.append(begun + held)
            begun, joined = rest, word
        held = joined
    return [*lines, begun + held] if held else lines


def _chopped(words: Iterable[str], width: int) -> Iterator[str]:
    for word in words:
        yield from (word,) if cell_len(word) <= width else chop_cells(word, width)


def table(rows: Sequence[Sequence[Cell]], indent: str = INDENT) -> list[Line]:
    """Set rows in columns two spaces apart; the last cell of a row wraps under itself."""
    clean_rows = [[Cell(clean(cell.text), cell.style, cell.right) for cell in row] for row in rows]
    count = max((len(row) for row in clean_rows), default=0)
    widths = [
        max((cell_len(row[index].text) for row in clean_rows if index < len(row) - 1), default=0)
        for index in range(count)
    ]
    last_widths = _last_widths(clean_rows, widths)
    return [made for row in clean_rows for made in _row(row, last_widths, indent)]


def _last_widths(rows: Sequence[Sequence[Cell]], widths: list[int]) -> list[int]:
    full = max((len(row) for row in rows), default=0)
    lasts = [cell_len(row[-1].text) for row in rows if len(row) == full and row[-1].right]
    return [*widths[:-1], max(lasts, default=0)] if widths else widths


def _row(row: Sequence[Cell], widths: Sequence[int], indent: str) -> list[Line]:
    pieces = [Piece(indent)]
    for index, cell in enumerate(row[:-1]):
        pieces.append(Piece(pad(cell.text, widths[index], cell.right) + "  ", cell.style))
    taken = sum(cell_len(piece.text) for piece in pieces)
    last = row[-1]
    if last.right:
        return [Line((*pieces, Piece(pad(last.text, widths[len(row) - 1], True), last.style)))]
    parts = wrap(last.text, max(20, WIDTH - taken)) or [""]
    below = [Line((Piece(" " * taken), Piece(part, last.style))) for part in parts[1:]]
    return [Line((*pieces, Piece(parts[0], last.style))), *below]


def paint(lines: Iterable[Line], colour: bool) -> str:
    """Turn lines into text that ends with a line break, with escape codes only where asked."""
    return "".join(_paint_line(item, colour) + "\n" for item in lines)


def _paint_line(item: Line, colour: bool) -> str:
    pieces = list(item.pieces)
    while pieces and not pieces[-1].text.strip():
        pieces.pop()
    if pieces:
        pieces[-1] = Piece(pieces[-1].text.rstrip(), pieces[-1].style)
    return "".join(_paint_piece(piece, colour) for piece in pieces)


def _paint_piece(piece: Piece, colour: bool) -> str:
    text = clean(piece.text)
    code = STYLES.get(piece.style, "")
    return f"\x1b[{code}m{text}\x1b[0m" if colour and code and text.strip() else text


def stopper(stopped_by: str) -> str:
    """Write what stopped a search, to be said after 'stopped by'."""
    return "you" if stopped_by == INTERRUPTED else stopped_by
