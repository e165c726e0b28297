"""Rows of a table: a key that stays, cells to draw, and what to sort by."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from rich.cells import cell_len

from planner.report.common.text import Cell, clean


@dataclass(frozen=True)
class Row:
    """One row; ``order`` holds for each cell what it is sorted by."""

    key: str
    cells: tuple[Cell, ...]
    order: tuple[tuple[float, str], ...]

    @cached_property
    def text(self) -> str:
        """All cells, to look for words in."""
        return " ".join(cell.text for cell in self.cells).casefold()

    @cached_property
    def widths(self) -> tuple[int, ...]:
        """The columns that each cell takes at most."""
        return tuple(cell_len(clean(cell.text)) for cell in self.cells)

    def matches(self, wanted: str) -> bool:
        """Say whether every word asked for is in some cell."""
        return all(word in self.text for word in wanted.casefold().split())


def row(key: str, *parts: str | Cell | tuple[str, float]) -> Row:
    """Make a row; a part is text, a cell, or the text of a figure with the figure itself."""
    cells: list[Cell] = []
    order: list[tuple[float, str]] = []
    for part in parts:
        if isinstance(part, tuple):
            cells.append(Cell(part[0], right=True))
            order.append((part[1], ""))
        else:
            cell = part if isinstance(part, Cell) else Cell(part)
            cells.append(cell)
            order.append((0.0, cell.text.casefold()))
    return Row(key, tuple(cells), tuple(order))


def arranged(rows: Iterable[Row], wanted: str, column: int | None, falling: bool) -> list[Row]:
    """Filter and sort rows; without a column they keep the file's order."""
    found = [item for item in rows if item.matches(wanted)]
    if column is not None:
        found.sort(key=lambda item: item.order[column], reverse=falling)
    return found
