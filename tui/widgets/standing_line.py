"""The standing line: what the plan at hand comes to, always in sight."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import RenderResult
from textual.widget import Widget

from planner.report.common.text import Cell
from tui.session import Session
from tui.theme import STYLES, cut, words
from tui.views.standing import listener_cells, running_cell, sum_cells, trust_cell

if TYPE_CHECKING:
    from planner.placement.result import Progress

GAP = " · "


class StandingLine(Widget):
    """Two lines: the listeners; then watts, money, windows and how sure the plan is."""

    def __init__(self, session: Session, id: str) -> None:
        super().__init__(id=id)
        self.session = session
        self.windows: int | None = None
        self.progress: Progress | None = None
        self.began: float | None = None

    def begin(self) -> None:
        """A solve has begun."""
        self.progress, self.began = None, time.monotonic()
        self.refresh()

    def end(self) -> None:
        """No solve runs any more."""
        self.progress, self.began = None, None
        self.refresh()

    def render(self) -> RenderResult:
        """Draw both lines, cut at the right where there is no room."""
        width = max(1, self.size.width)
        first = _joined(listener_cells(self.session))
        last = trust_cell(self.session)
        if self.began is not None:
            last = running_cell(self.progress, time.monotonic() - self.began)
        second = _joined([last, *sum_cells(self.session, self.windows)])
        return Text("\n").join([_cut(first, width), _cut(second, width)])


def _joined(cells: list[Cell]) -> Text:
    return words(GAP, "dim").join(words(cell.text, STYLES.get(cell.style, "")) for cell in cells)


def _cut(text: Text, width: int) -> Text:
    made = text.copy() if text.plain else cut("", width)
    made.truncate(width, overflow="ellipsis")
    return made
