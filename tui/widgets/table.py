"""A table of rows by key: it changes only the cells that differ, and keeps the cursor on its row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from rich.text import Text
from textual.binding import Binding, BindingType
from textual.coordinate import Coordinate
from textual.widgets import DataTable
from textual.widgets.data_table import RowKey

from tui.theme import cell_text, words
from tui.views.rows import Row

WIDEST = 30
AT_ONCE = 120
"""Rows put into a table in one piece of work."""
MARK = "●"


class Sheet(DataTable[Text]):
    """Rows with a column for marks at their left."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "select_cursor", "change", show=False),
        Binding("home", "scroll_top", "first", show=False),
        Binding("end", "scroll_bottom", "last", show=False),
    ]

    def __init__(self, columns: Sequence[str], id: str | None = None) -> None:
        super().__init__(cursor_type="row", cell_padding=1, id=id)
        self.titles = tuple(columns)
        self.drawn: list[Row] = []
        self.marked: set[str] = set()
        self._sought: str | None = None
        self._head: tuple[int | None, bool] = (None, False)

    def on_mount(self) -> None:
        """Set the columns."""
        self.add_column(Text(" "), key="mark", width=1)
        for index, title in enumerate(self.titles):
            self.add_column(words(title), key=str(index))

    @property
    def key_here(self) -> str | None:
        """The key of the row under the cursor."""
        here = self.cursor_row
        return self.drawn[here].key if 0 <= here < len(self.drawn) else None

    @property
    def chosen(self) -> list[str]:
        """The marked rows in the order shown, or else the row under the cursor."""
        marked = [row.key for row in self.drawn if row.key in self.marked]
        return marked or ([self.key_here] if self.key_here is not None else [])

    def show_rows(self, rows: list[Row]) -> None:
        """Show rows: cells that differ are changed where the rows are the same, else all is set anew."""
        self.marked &= {row.key for row in rows}
        if [row.key for row in rows] == [row.key for row in self.drawn]:
            changes = list(zip(self.drawn, rows, strict=True))[: self.row_count]
            self.drawn = rows
            self._widen()
            for old, new in changes:
                if old.cells != new.cells:
                    self._change(old, new)
            self._fill_later()
            return
        self._sought = self.key_here
        self.clear()
        self.drawn = rows
        self._widen()
        self._fill(AT_ONCE)
        self._fill_later()

    def _fill(self, most: int | None = None) -> None:
        """Put rows into the table that are not in it yet.

        Rows that follow others change none of those: the toolkit would forget how it drew them.
        """
        count = self._update_count if self.row_count else None
        for row in self.drawn[self.row_count :][:most]:
            self.add_row(self._mark(row.key), *self._cells(row), key=row.key)
        if count is not None:
            self._update_count = count
            self._offset_cache.clear()

    def _widen(self) -> None:
        """Fit the columns to their cells and heads.

        The toolkit does so too, but when idle, and a row drawn before that is kept at its old width.
        """
        for index, column in enumerate(self.ordered_columns[1:]):
            widest = max((row.widths[index] for row in self.drawn), default=0)
            column.content_width = max(column.label.cell_len, min(widest, WIDEST))

    def _update_dimensions(self, new_rows: Iterable[RowKey]) -> None:
        """Take the size of all rows; the toolkit would measure every new cell again."""
        del new_rows
        super()._update_dimensions(())

    def _fill_later(self) -> None:
        """Go on filling between keys, so that a long table keeps nobody waiting.

        At the end the cursor goes back to its row, unless the person has gone elsewhere meanwhile.
        """
        rows = self.drawn
        if self.row_count == len(rows):
            if self._sought is not None:
                self.go_to(self._sought)
            self._sought = None
            return

        def go_on() -> None:
            if rows is self.drawn:
                self._fill(AT_ONCE)
                self._fill_later()

        self.call_after_refresh(go_on)

    def on_key(self) -> None:
        """Leave the cursor where the person takes it."""
        self._sought = None

    def on_mouse_down(self) -> None:
        """Leave the cursor where the person takes it."""
        self._sought = None

    def action_scroll_bottom(self) -> None:
        """Go to the last row, also where the table is still being filled."""
        self._fill()
        super().action_scroll_bottom()

    def go_to(self, key: str | None) -> None:
        """Put the cursor on a row, if it is shown."""
        self._fill()
        keys = [row.key for row in self.drawn]
        if key in keys:
            self.move_cursor(row=keys.index(key))

    def show_order(self, column: int | None, falling: bool) -> None:
        """Show in the heads by which column the rows are sorted."""
        if self._head == (column, falling):
            return
        self._head = (column, falling)
        for index, title in enumerate(self.titles):
            sign = (" ▼" if falling else " ▲") if index == column else ""
            self.ordered_columns[index + 1].label = words(title + sign)
        self._widen()
        self._update_count += 1
        self.refresh()

    def toggle_mark(self, key: str) -> None:
        """Mark a row, or take its mark away."""
        self._fill()
        self.marked ^= {key}
        self.update_cell(key, "mark", self._mark(key))

    def mark_all(self) -> None:
        """Mark all rows shown; unmark them when all are marked."""
        self._fill()
        keys = {row.key for row in self.drawn}
        self.marked = set() if keys <= self.marked else self.marked | keys
        for key in keys:
            self.update_cell(key, "mark", self._mark(key))

    def unmark(self) -> None:
        """Take all marks away."""
        old, self.marked = self.marked, set()
        for key in old & {row.key for row in self.drawn}:
            self.update_cell(key, "mark", self._mark(key))

    def _mark(self, key: str) -> Text:
        return words(MARK if key in self.marked else " ", "mark")

    def _cells(self, row: Row) -> list[Text]:
        return [cell_text(cell, WIDEST) for cell in row.cells]

    def _change(self, old: Row, new: Row) -> None:
        at = self.get_row_index(new.key)
        for index, (before, after) in enumerate(zip(old.cells, new.cells, strict=True)):
            if before != after:
                self.update_cell_at(Coordinate(at, index + 1), cell_text(after, WIDEST), update_width=True)
