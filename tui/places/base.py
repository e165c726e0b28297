"""What the places have in common: a table with filter, order, marks and a detail below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.message import Message
from textual.widgets import DataTable, Input, Static

from planner.inventory.text.errors import Path
from tui.session import Session
from tui.theme import words
from tui.views.rows import Row, arranged
from tui.widgets.input_line import TypeLine
from tui.widgets.table import Sheet


class Place(Vertical):
    """One side of the site; ``is_stale`` until it has shown the session as it is."""

    def __init__(self, session: Session, id: str) -> None:
        super().__init__(id=id)
        self.session = session
        self.is_stale = True

    def bring_up_to_date(self) -> None:
        """Show the session as it is now."""
        raise NotImplementedError

    def focus_first(self) -> None:
        """Put the focus where the keys work."""
        raise NotImplementedError


class Chosen(Message):
    """A person wants to change the entries selected."""


class TablePlace(Place):
    """A place that is a table of entries."""

    COLUMNS: ClassVar[Sequence[str]] = ()
    new_section: ClassVar[str] = ""

    def __init__(self, session: Session, id: str) -> None:
        super().__init__(session, id)
        self.wanted = ""
        self.column: int | None = None
        self.falling = False
        self.known: list[Row] = []

    def compose(self) -> ComposeResult:
        """Lay out filter, table and detail."""
        hint = "words to look for; Escape shows all again"
        yield TypeLine(placeholder=hint, enter=self.focus_first, classes="filter")
        yield Sheet(self.COLUMNS, id=f"{self.id}-table")
        with VerticalScroll(classes="detail", can_focus=False):
            yield Static(classes="detail-text", markup=False)

    @property
    def sheet(self) -> Sheet:
        """The table."""
        return self.query_one(Sheet)

    def rows(self) -> list[Row]:
        """List all rows."""
        raise NotImplementedError

    def detail(self, key: str) -> list[str]:
        """Find what is known of a row in sentences."""
        raise NotImplementedError

    def entry(self, key: str) -> Path:
        """Find the path in the file of a row's entry; () when there is none."""
        raise NotImplementedError

    def first_field(self, key: str) -> Path | None:  # noqa: ARG002
        """Find the field at which the form of a row's entry begins, None for its first."""
        return None

    def bring_up_to_date(self) -> None:
        """Show the session as it is now."""
        self.is_stale = False
        self.known = self.rows()
        self.show_wanted()

    def show_wanted(self) -> None:
        """Show the rows that are wanted in the order wanted."""
        self.sheet.show_rows(arranged(self.known, self.wanted, self.column, self.falling))
        self.sheet.show_order(self.column, self.falling)
        self.show_detail()

    def show_detail(self) -> None:
        """Show what is known of the row under the cursor."""
        key = self.sheet.key_here
        lines = self.detail(key) if key is not None else self.nothing()
        text = Text("\n").join(words(line, "bold" if index == 0 else "") for index, line in enumerate(lines))
        text.no_wrap, text.overflow = False, "fold"
        self.query_one(".detail-text", Static).update(text)

    def nothing(self) -> list[str]:
        """Say why no row is shown."""
        return ["nothing holds these words" if self.wanted else "nothing here yet"]

    def focus_first(self) -> None:
        """Put the focus on the table, before the next key comes."""
        self.screen.set_focus(self.sheet)

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Follow the cursor with the detail."""
        event.stop()
        self.show_detail()

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Change the entry that Enter or a second click is on."""
        event.stop()
        self.post_message(Chosen())

    def on_data_table_header_selected(self, event: DataTable.HeaderSelected) -> None:
        """Sort by the column clicked; click again to turn round."""
        event.stop()
        index = event.column_index - 1
        if index >= 0:
            self.sort_by(index, self.column == index and not self.falling)

    def sort_by(self, column: int | None, falling: bool) -> None:
        """Sort by a column."""
        self.column, self.falling = column, falling
        self.show_wanted()

    def next_order(self) -> None:
        """Sort by the next column; after the last, in the file's order."""
        now = -1 if self.column is None else self.column
        self.sort_by(now + 1 if now + 1 < len(self.COLUMNS) else None, False)

    def ask_filter(self) -> None:
        """Open the line to type words into."""
        line = self.query_one(".filter", Input)
        line.display = True
        self.screen.set_focus(line)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Filter as typed."""
        event.stop()
        self.wanted = event.value
        self.show_wanted()

    def close_filter(self) -> bool:
        """Show all rows again; False when no filter was open."""
        line = self.query_one(".filter", Input)
        if not line.display:
            return False
        line.value = ""
        line.display = False
        if self.wanted:
            self.wanted = ""
            self.show_wanted()
        self.sheet.focus()
        return True
